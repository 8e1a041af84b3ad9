/**
 * What is looked at before an XLSX file, which is a ZIP archive, is unpacked: a small file can
 * unpack to more than the machine holds. Source: PKWARE APPNOTE.TXT 6.3.10.
 */

export interface ArchiveLimits {
	/** Files within the archive. */
	readonly entries: number;
	/** Bytes of all of them unpacked. */
	readonly unpacked: number;
}
export const ARCHIVE_LIMITS: ArchiveLimits = { entries: 2_000, unpacked: 250_000_000 };

const END_OF_DIRECTORY = 0x06054b50;
const END_BYTES = 22;
const LONGEST_REMARK = 65_535;
const DIRECTORY_ENTRY = 0x02014b50;
const ENTRY_BYTES = 46;
/** Sizes and counts of this value stand elsewhere, for archives beyond 4 GB. */
const ELSEWHERE_32 = 0xffff_ffff;
const ELSEWHERE_16 = 0xffff;
const ENCRYPTED = 1;
const SIZES_FOLLOW = 8;
const SLASH = 0x2f;
/** The least that deflate makes of nothing. */
const PACKED_NOTHING = 2;

export type ArchiveLook =
	| { readonly kind: 'fit' }
	| { readonly kind: 'notArchive' }
	/** `why`: a sentence. */
	| { readonly kind: 'refused'; readonly code: string; readonly why: string };

/**
 * Whether an archive keeps to the limits by its directory. The unpacker holds every file to the size
 * the directory says, so a directory that lies ends the reading; one that says nothing is refused.
 */
export function lookAtArchive(
	bytes: Uint8Array,
	limits: ArchiveLimits = ARCHIVE_LIMITS,
): ArchiveLook {
	const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
	const end = endOfDirectory(view);
	if (end === null) return { kind: 'notArchive' };
	const refused = (code: string, why: string): ArchiveLook => ({ kind: 'refused', code, why });
	const damaged = refused('archive_damaged', 'The file is damaged: its directory cannot be read.');
	const count = view.getUint16(end + 10, true);
	const start = view.getUint32(end + 16, true);
	if (count === ELSEWHERE_16 || start === ELSEWHERE_32)
		return refused('archive_too_large', 'The file is an archive of a kind for more than 4 GB.');
	if (count > limits.entries)
		return refused(
			'archive_entries',
			`The file holds ${count} parts; at most ${limits.entries} are read.`,
		);
	let at = start;
	let unpacked = 0;
	for (let i = 0; i < count; i++) {
		if (at + ENTRY_BYTES > end || view.getUint32(at, true) !== DIRECTORY_ENTRY) return damaged;
		const flags = view.getUint16(at + 8, true);
		const packed = view.getUint32(at + 20, true);
		const size = view.getUint32(at + 24, true);
		if ((flags & ENCRYPTED) !== 0)
			return refused('archive_encrypted', 'The file is locked with a password.');
		if (size === ELSEWHERE_32 || packed === ELSEWHERE_32)
			return refused('archive_too_large', 'A part of the file is of a kind for more than 4 GB.');
		// A size that is not said here would be taken from where nobody has looked.
		const isSaid = size > 0 ? packed > 0 : packed <= PACKED_NOTHING;
		const isFolder = bytes[at + ENTRY_BYTES + view.getUint16(at + 28, true) - 1] === SLASH;
		const saidLater = (flags & SIZES_FOLLOW) !== 0 && packed === 0 && !isFolder;
		if (!isSaid || saidLater) return damaged;
		unpacked += size;
		if (unpacked > limits.unpacked)
			return refused(
				'archive_too_large',
				`The file unpacks to more than ${Math.round(limits.unpacked / 1e6)} MB, which is not read.`,
			);
		at +=
			ENTRY_BYTES +
			view.getUint16(at + 28, true) +
			view.getUint16(at + 30, true) +
			view.getUint16(at + 32, true);
	}
	return { kind: 'fit' };
}

/** A part of an archive as it lies there. */
export interface ArchivePart {
	readonly name: string;
	/** Unpacked. */
	readonly size: number;
	/** 0: as it is; 8: deflated. */
	readonly method: number;
	readonly packed: Uint8Array;
}

const LOCAL_BYTES = 30;

/** The parts of an archive that {@link lookAtArchive} has found fit. */
export function partsOf(bytes: Uint8Array): ArchivePart[] {
	const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
	const end = endOfDirectory(view);
	if (end === null) return [];
	const parts: ArchivePart[] = [];
	let at = view.getUint32(end + 16, true);
	for (let i = view.getUint16(end + 10, true); i > 0; i--) {
		const nameLength = view.getUint16(at + 28, true);
		const start = at + ENTRY_BYTES;
		const local = view.getUint32(at + 42, true);
		if (local + LOCAL_BYTES <= bytes.length) {
			const data =
				local + LOCAL_BYTES + view.getUint16(local + 26, true) + view.getUint16(local + 28, true);
			parts.push({
				name: new TextDecoder().decode(bytes.subarray(start, start + nameLength)),
				size: view.getUint32(at + 24, true),
				method: view.getUint16(at + 10, true),
				packed: bytes.subarray(data, data + view.getUint32(at + 20, true)),
			});
		}
		at = start + nameLength + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
	}
	return parts;
}

function endOfDirectory(view: DataView): number | null {
	const least = Math.max(0, view.byteLength - END_BYTES - LONGEST_REMARK);
	for (let at = view.byteLength - END_BYTES; at >= least; at--)
		if (view.getUint32(at, true) === END_OF_DIRECTORY) return at;
	return null;
}
