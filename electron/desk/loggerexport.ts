import { createWriteStream, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { isoTime } from '../../calc/quantity/time.ts';
import { openArchive } from '../logger/archive.ts';
import type { SeriesColumn } from '../logger/parquet/column.ts';
import { decodeParquet } from '../logger/parquet/decode.ts';

/** Lines written at once. */
const BLOCK_ROWS = 10_000;

/** Writes the series beside a project as one `logger.csv`, day by day, every figure as it was read. */
export async function exportSeries(
	seriesFolder: string,
	file: string,
	utcOffset_min: number,
): Promise<void> {
	const archive = openArchive(seriesFolder);
	try {
		const { days, columns } = archive.manifest;
		await pipeline(
			Readable.from(seriesText(seriesFolder, days, columns, utcOffset_min)),
			createWriteStream(file, { flags: 'wx', flush: true }),
		);
	} finally {
		archive.close();
	}
}

function* seriesText(
	seriesFolder: string,
	days: readonly { readonly file: string }[],
	names: readonly string[],
	utcOffset_min: number,
): Generator<string> {
	const headings = ['time', 'mode', ...names.filter((name) => name !== 'time' && name !== 'mode')];
	yield `${headings.join(',')}\n`;
	for (const day of days) {
		const { count, columns } = decodeParquet(
			readFileSync(join(seriesFolder, day.file)),
			() => true,
		);
		const byName = new Map(columns.map((column) => [column.name, column]));
		const fields = headings.map((name) => fieldOf(byName.get(name), utcOffset_min));
		for (let from = 0; from < count; from += BLOCK_ROWS) {
			let block = '';
			for (let row = from; row < Math.min(count, from + BLOCK_ROWS); row++)
				block += `${fields.map((field) => field(row)).join(',')}\n`;
			yield block;
		}
	}
}

function fieldOf(column: SeriesColumn | undefined, utcOffset_min: number): (row: number) => string {
	if (column === undefined) return () => '';
	switch (column.kind) {
		case 'time':
			return (row) => isoTime(column.values[row]!, utcOffset_min);
		case 'word':
			return (row) => column.words[column.values[row]!] ?? '';
		case 'number':
			return (row) => (Number.isNaN(column.values[row]!) ? '' : String(column.values[row]));
	}
}
