import { closeSync, openSync, writeFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';

const RING_S = 7200;
const ADVANCE_S = 3000;
const BYPASS_S = 6000;
const DAY_S = 86_400;
const START_S = Date.UTC(2026, 0, 1) / 1000;

/** Columns of the record beyond those of the shorter bench. */
export const MORE_COLUMNS = ['feed_total_m3', 'return_total_m3'] as const;

/**
 * Writes an invented 1 Hz record of ten columns and so many days, with its rings and drive. The figures
 * of one day scatter as meters do and come again every day under its date: text of a year is then made
 * in the time it takes to write it, and costs no less to read.
 */
export function writeYear(folder: string, days: number): { bytes: number; rings: number } {
	const day = dayText();
	const fd = openSync(join(folder, 'logger.csv'), 'w');
	const header =
		'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3,chamber_level_m,face_pressure_bar,feed_total_m3,return_total_m3\n';
	let bytes = writeSync(fd, header);
	for (let d = 0; d < days; d++) {
		const date = Buffer.from(new Date((START_S + d * DAY_S) * 1000).toISOString().slice(0, 10));
		for (const at of day.dates) date.copy(day.text, at);
		for (let at = 0; at < day.text.length; ) at += writeSync(fd, day.text, at);
		bytes += day.text.length;
	}
	closeSync(fd);
	const rings = (days * DAY_S) / RING_S;
	const iso = (s: number): string => `${new Date(s * 1000).toISOString().slice(0, 19)}Z`;
	const lines = yearWindows(rings).map(
		({ ring, from_s, to_s }) => `${ring},${iso(from_s)},${iso(to_s)},400,1900,4,4`,
	);
	writeFileSync(
		join(folder, 'rings.csv'),
		`ring,advance_start,advance_end,stroke_start_mm,stroke_end_mm,chamber_level_start_m,chamber_level_end_m\n${lines.join('\n')}\n`,
	);
	return { bytes, rings };
}

function dayText(): { text: Buffer; dates: number[] } {
	let state = 1;
	const scatter = (width: number): number => {
		state ^= state << 13;
		state ^= state >>> 17;
		state ^= state << 5;
		return ((state >>> 0) / 4294967296 - 0.5) * width;
	};
	const dates: number[] = [];
	const lines: string[] = [];
	let at = 0;
	let fed = 0;
	let back = 0;
	for (let s = 0; s < DAY_S; s++) {
		const phase = s % RING_S;
		const isAdvance = phase < ADVANCE_S;
		const isStop = phase >= BYPASS_S;
		const mode = isAdvance ? 'advance' : isStop ? 'stop' : 'bypass';
		const feed = isStop ? 0 : 900 + scatter(12);
		const returned = isStop ? 0 : (isAdvance ? 960 : 900) + scatter(12);
		fed += feed / 3600;
		back += returned / 3600;
		const clock = new Date(s * 1000).toISOString().slice(11, 19);
		const figures = [
			feed.toFixed(1),
			(1.08 + scatter(0.004)).toFixed(4),
			returned.toFixed(1),
			((isAdvance ? 1.2 : 1.09) + scatter(0.004)).toFixed(4),
			(4 + scatter(0.02)).toFixed(2),
			(2.5 + scatter(0.02)).toFixed(2),
			fed.toFixed(2),
			back.toFixed(2),
		];
		const line = `0000-00-00T${clock}Z,${mode},${figures.join(',')}\n`;
		dates.push(at);
		lines.push(line);
		at += line.length;
	}
	return { text: Buffer.from(lines.join(''), 'latin1'), dates };
}

/** Unix seconds of the advance windows. */
export function yearWindows(rings: number): { ring: number; from_s: number; to_s: number }[] {
	return Array.from({ length: rings }, (_, k) => ({
		ring: k + 1,
		from_s: START_S + k * RING_S,
		to_s: START_S + k * RING_S + ADVANCE_S,
	}));
}
