import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { basename } from 'node:path';
import { stopFault } from '../../calc/fault/fault.ts';
import { FaultList } from '../folder/faultlist.ts';
import type { LoggerBatch } from './batch.ts';
import { ByteParser } from './byteparser.ts';

/** Bytes read at a time: large enough to be quick, small enough for the processor's cache. */
const CHUNK_BYTES = 1 << 20;
/** Where the first stamp of a file is looked for. */
const HEAD_BYTES = 1 << 16;

export interface RecordReading {
	readonly faults: FaultList;
	/** `file`: index into `files`; `upTo`: bytes of it read so far. */
	readonly take: (batch: LoggerBatch, file: number, upTo: number) => void;
	/** A batch that is done with and may be filled again. */
	readonly spare?: () => LoggerBatch | undefined;
	/** After every chunk; reading goes on when it settles. */
	readonly between?: (rows: number, bytes: number) => Promise<void> | undefined;
}

export interface RecordSizes {
	readonly rowsByFile: number[];
	readonly bytesByFile: number[];
	readonly lastTime_s: number | null;
}

/**
 * Reads logger files as one record, in the order of their first stamps, whatever they are called.
 * A file that cannot be opened or read is a stop fault.
 */
export async function readRecord(
	files: readonly string[],
	reading: RecordReading,
): Promise<RecordSizes> {
	const rowsByFile = files.map(() => 0);
	const bytesByFile = files.map(() => 0);
	const order = files.map((path, at) => ({ at, first_s: firstStamp_s(path) }));
	order.sort((a, b) => a.first_s - b.first_s || a.at - b.at);
	const chunk = new Uint8Array(CHUNK_BYTES);
	let latest_s = Number.NEGATIVE_INFINITY;
	let rows = 0;
	let bytes = 0;
	for (const { at } of order) {
		const path = files[at] ?? '';
		let upTo = 0;
		const parser = new ByteParser({
			file: basename(path),
			faults: reading.faults,
			take: (batch) => reading.take(batch, at, upTo),
			spare: reading.spare,
			after_s: latest_s,
		});
		try {
			const fd = openSync(path, 'r');
			try {
				for (let n = readSync(fd, chunk); n > 0; n = readSync(fd, chunk)) {
					upTo += n;
					parser.push(chunk.subarray(0, n));
					if (parser.unusable) break;
					const wait = reading.between?.(rows + parser.rows, bytes + upTo);
					if (wait !== undefined) await wait;
				}
				parser.end();
				bytesByFile[at] = fstatSync(fd).size;
			} finally {
				closeSync(fd);
			}
		} catch (error) {
			const { code } = error as NodeJS.ErrnoException;
			if (code === undefined) throw error;
			reading.faults.add(
				stopFault('file_unreadable', `The file cannot be read (${code}).`, {
					file: basename(path),
					expected: 'a file that can be read',
				}),
			);
		}
		latest_s = parser.latest_s;
		rowsByFile[at] = parser.rows;
		rows += parser.rows;
		bytes += upTo;
	}
	return { rowsByFile, bytesByFile, lastTime_s: Number.isFinite(latest_s) ? latest_s : null };
}

/** First stamp that can be read near the head of a file; +∞ if there is none. */
function firstStamp_s(path: string): number {
	let first_s = Number.POSITIVE_INFINITY;
	const head = new Uint8Array(HEAD_BYTES);
	let n = 0;
	try {
		const fd = openSync(path, 'r');
		try {
			n = readSync(fd, head);
		} finally {
			closeSync(fd);
		}
	} catch {
		// Told when the file is read in its turn.
		return first_s;
	}
	const parser = new ByteParser({
		file: basename(path),
		faults: new FaultList(0),
		take: (batch) => {
			first_s = Math.min(first_s, batch.time_s[0] ?? first_s);
		},
	});
	parser.push(head.subarray(0, n));
	parser.end();
	return first_s;
}
