import { readFileSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { MODE_MISSING, type Samples } from '../../calc/circuit/samples.ts';
import { firstAfter, firstAtOrAfter } from '../../calc/circuit/span.ts';
import { MANIFEST_FILE, type Manifest, type SeriesDay } from './manifest.ts';
import { readManifest } from './manifestreader.ts';
import { decodeParquet, SeriesDamaged } from './parquet/decode.ts';
import { reachesOver } from './ringwindow.ts';
import { type RecordPart, SampleBuffer, SIGNALS } from './samplebuffer.ts';

/** Days kept unpacked: a ring and the lines before and after it lie in two at most. */
const DAYS_KEPT = 3;

/** The raw series beside a project, read a span at a time. */
export interface SeriesArchive {
	readonly manifest: Manifest;
	/** Two stamps farther apart are a gap. */
	readonly gapLimit_s: number;
	/** Samples with from_s ≤ time ≤ to_s, SI. Rejects with {@link SeriesDamaged} if a day file is gone or altered. */
	span(from_s: number, to_s: number): Promise<Samples>;
	/** True if the record reaches over the whole window, but for one gap limit at each end. */
	covers(from_s: number, to_s: number): boolean;
	close(): void;
}

/** Opens a series folder. Throws {@link SeriesDamaged} if it has no manifest or one that is not ours. */
export function openArchive(seriesFolder: string): SeriesArchive {
	let text: string;
	try {
		text = readFileSync(join(seriesFolder, MANIFEST_FILE), 'utf8');
	} catch (error) {
		throw new SeriesDamaged(
			`${MANIFEST_FILE} cannot be read (${(error as NodeJS.ErrnoException).code ?? 'unknown reason'})`,
		);
	}
	const manifest = readManifest(text);
	if (manifest === null)
		throw new SeriesDamaged(`${MANIFEST_FILE} is not the manifest of a series`);
	const { days, gapLimit_s } = manifest;
	const first = days[0];
	const last = days.at(-1);
	const kept = new Map<string, Promise<RecordPart>>();
	const dayPart = (day: SeriesDay): Promise<RecordPart> => {
		const known = kept.get(day.file);
		const part = known ?? readDay(seriesFolder, day);
		kept.delete(day.file);
		kept.set(day.file, part);
		if (known === undefined) part.catch(() => kept.delete(day.file));
		for (const file of kept.keys()) {
			if (kept.size <= DAYS_KEPT) break;
			kept.delete(file);
		}
		return part;
	};
	return {
		manifest,
		gapLimit_s,
		async span(from_s, to_s) {
			const buffer = new SampleBuffer();
			for (const day of days) {
				if (day.to_s < from_s || day.from_s > to_s) continue;
				const part = await dayPart(day);
				buffer.append(
					part,
					firstAtOrAfter(part.time_s, part.count, from_s),
					firstAfter(part.time_s, part.count, to_s),
				);
			}
			return buffer.samples();
		},
		covers(from_s, to_s) {
			if (first === undefined || last === undefined) return false;
			return reachesOver({ first_s: first.from_s, last_s: last.to_s, gapLimit_s }, from_s, to_s);
		},
		close() {
			kept.clear();
		},
	};
}

async function readDay(seriesFolder: string, day: SeriesDay): Promise<RecordPart> {
	let bytes: Uint8Array;
	try {
		bytes = await readFile(join(seriesFolder, day.file));
	} catch (error) {
		throw new SeriesDamaged(
			`${day.file} cannot be read (${(error as NodeJS.ErrnoException).code ?? 'unknown reason'})`,
		);
	}
	if (bytes.length !== day.bytes)
		throw new SeriesDamaged(`${day.file} has ${bytes.length} bytes, not ${day.bytes}`);
	const used = new Set(['time', 'mode', ...SIGNALS.map((signal) => signal.id)]);
	const { count, columns } = decodeParquet(bytes, (name) => used.has(name));
	if (count !== day.rows) throw new SeriesDamaged(`${day.file} has ${count} rows, not ${day.rows}`);
	const time = columns.find((column) => column.kind === 'time');
	const mode = columns.find((column) => column.kind === 'word');
	if (time === undefined) throw new SeriesDamaged(`${day.file} has no times`);
	return {
		count,
		time_s: time.values,
		mode: mode?.values ?? new Uint8Array(count).fill(MODE_MISSING),
		numbers: columns.flatMap((column) =>
			column.kind === 'number' ? [{ id: column.name, values: column.values }] : [],
		),
	};
}
