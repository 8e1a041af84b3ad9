import { crc32, deflateRawSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { OpenDocument } from '../../../electron/desk/document.ts';
import { inspectSheet } from '../../../electron/desk/sheetexchange.ts';
import { lookAtArchive } from '../../../electron/exchange/archivelimits.ts';
import { ExchangeFolder } from './exchangedesk.ts';

/** Archives written here byte by byte (PKWARE APPNOTE.TXT 6.3.10), sound and hostile. */

interface Part {
	readonly name: string;
	readonly content: Uint8Array;
	/** What the directory says instead of the truth. */
	readonly says?: { readonly size?: number; readonly packed?: number; readonly flags?: number };
}

function archive(parts: readonly Part[], count = parts.length): Uint8Array {
	const bodies: Buffer[] = [];
	const directory: Buffer[] = [];
	let at = 0;
	for (const { name, content, says } of parts) {
		const packed = deflateRawSync(content);
		const local = Buffer.alloc(30);
		local.writeUInt32LE(0x04034b50, 0);
		local.writeUInt16LE(8, 8);
		local.writeUInt32LE(crc32(content), 14);
		local.writeUInt32LE(packed.length, 18);
		local.writeUInt32LE(content.length, 22);
		local.writeUInt16LE(name.length, 26);
		const entry = Buffer.alloc(46);
		entry.writeUInt32LE(0x02014b50, 0);
		entry.writeUInt16LE(says?.flags ?? 0, 8);
		entry.writeUInt16LE(8, 10);
		entry.writeUInt32LE(crc32(content), 16);
		entry.writeUInt32LE(says?.packed ?? packed.length, 20);
		entry.writeUInt32LE(says?.size ?? content.length, 24);
		entry.writeUInt16LE(name.length, 28);
		entry.writeUInt32LE(at, 42);
		directory.push(entry, Buffer.from(name));
		bodies.push(local, Buffer.from(name), packed);
		at += 30 + name.length + packed.length;
	}
	const end = Buffer.alloc(22);
	end.writeUInt32LE(0x06054b50, 0);
	end.writeUInt16LE(count, 8);
	end.writeUInt16LE(count, 10);
	end.writeUInt32LE(
		directory.reduce((sum, each) => sum + each.length, 0),
		12,
	);
	end.writeUInt32LE(at, 16);
	return Buffer.concat([...bodies, ...directory, end]);
}

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const zeros = (size: number): Uint8Array => new Uint8Array(size);

describe('the directory of an archive', () => {
	it.each([
		['a sound one', [{ name: 'a.xml', content: bytes('<a/>') }], { kind: 'fit' }],
		['an empty folder in it', [{ name: 'a/', content: zeros(0) }], { kind: 'fit' }],
		[
			'more than is unpacked',
			[{ name: 'a', content: bytes('x'), says: { size: 250_000_001 } }],
			{ kind: 'refused', code: 'archive_too_large' },
		],
		[
			'sizes that only together are too much',
			[1, 2, 3].map((n) => ({ name: `${n}`, content: bytes('x'), says: { size: 100_000_000 } })),
			{ kind: 'refused', code: 'archive_too_large' },
		],
		[
			'a size beyond 4 GB',
			[{ name: 'a', content: bytes('x'), says: { size: 0xffff_ffff } }],
			{ kind: 'refused', code: 'archive_too_large' },
		],
		[
			'a size that is kept back',
			[{ name: 'a', content: zeros(1000), says: { size: 0 } }],
			{ kind: 'refused', code: 'archive_damaged' },
		],
		[
			'sizes that only follow the data',
			[{ name: 'a', content: zeros(1000), says: { size: 0, packed: 0, flags: 8 } }],
			{ kind: 'refused', code: 'archive_damaged' },
		],
		[
			'a password',
			[{ name: 'a', content: bytes('x'), says: { flags: 1 } }],
			{ kind: 'refused', code: 'archive_encrypted' },
		],
		[
			'too many parts',
			Array.from({ length: 2001 }, (_, n) => ({ name: `${n}`, content: zeros(1) })),
			{ kind: 'refused', code: 'archive_entries' },
		],
	] as const)('with %s', (_name, parts: readonly Part[], wanted) => {
		expect(lookAtArchive(archive(parts))).toMatchObject(wanted);
	});

	it('that says there are more entries than it has is damaged', () => {
		const made = archive([{ name: 'a', content: bytes('x') }], 9);
		expect(lookAtArchive(made)).toMatchObject({ kind: 'refused', code: 'archive_damaged' });
	});

	it('is looked for in any bytes without an error', () => {
		const made = archive([{ name: 'a.xml', content: bytes('<a/>') }]);
		for (let length = 0; length < made.length; length++)
			expect(lookAtArchive(made.subarray(0, length)).kind).toBe('notArchive');
	});
});

describe('a workbook that is not one', () => {
	let folder: ExchangeFolder;
	let drive: OpenDocument;
	beforeAll(async () => {
		folder = new ExchangeFolder();
		drive = await folder.empty('drive');
	});
	afterAll(() => {
		drive.close();
		folder.remove();
	});
	const asked = async (content: Uint8Array) => {
		const path = folder.write('book.xlsx', content);
		return inspectSheet(drive, 'rings', path, { existing: 'skip' });
	};
	const TYPES =
		'<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>';

	it('unpacks to far more than it is: refused before it is unpacked, in words', async () => {
		const bomb = archive([
			{ name: '[Content_Types].xml', content: bytes(TYPES) },
			{ name: 'xl/worksheets/sheet1.xml', content: zeros(260_000_000) },
		]);
		expect(bomb.length).toBeLessThan(1_000_000);
		const reply = await asked(bomb);
		expect(reply).toMatchObject({ ok: false, code: 'archive_too_large' });
		expect(reply.ok ? '' : reply.message).toContain('unpacks to more than 250 MB');
	});

	it('has a directory that lies: the unpacker stops at the size it was told', async () => {
		const lying = archive([
			{ name: '[Content_Types].xml', content: zeros(50_000_000), says: { size: 10 } },
		]);
		expect(await asked(lying)).toMatchObject({ ok: false, code: 'workbook_unreadable' });
	});

	it.each([
		['other bytes', bytes('PK but nothing more')],
		['an archive of something else', archive([{ name: 'a.txt', content: bytes('hello') }])],
		[
			'entities that would grow without end',
			archive([
				{
					name: '[Content_Types].xml',
					content: bytes(
						`<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]><Types>&b;</Types>`,
					),
				},
			]),
		],
	])('holds %s', async (_name, content) => {
		const reply = await asked(content);
		expect(reply.ok ? null : reply.code).toMatch(/^(workbook_unreadable|workbook_empty)$/u);
	});
});
