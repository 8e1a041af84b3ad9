import { MODE_MISSING, MODES, type Samples } from '../circuit/samples.ts';
import type { CellValue } from './column.ts';

type Cells = Readonly<Record<string, CellValue>>;

const OPTIONAL = {
	sideFlow_m3_s: ['side_flow_m3_h', 1 / 3600],
	chamberLevel_m: ['chamber_level_m', 1],
	feedTotal_m3: ['feed_total_m3', 1],
	returnTotal_m3: ['return_total_m3', 1],
} as const;

/**
 * Samples of the circuit from rows of the readings sheet, which must be in order of time; the later
 * of two rows with one stamp counts. SI units; a missing cell is NaN. A column no row has is null.
 *
 * @example
 * samplesFromReadings([{ time: 60, mode: 'advance', feed_flow_m3_h: 1080, feed_density_t_m3: 1.1 }]).feedFlow_m3_s[0] // => 0.3
 */
export function samplesFromReadings(rows: readonly Cells[]): Samples {
	const kept: Cells[] = [];
	for (const row of rows) {
		const last = kept.at(-1);
		if (last !== undefined && last.time === row.time) kept.pop();
		kept.push(row);
	}
	const column = (id: string, factor: number): Float64Array =>
		Float64Array.from(kept, (row) => {
			const value = row[id];
			return typeof value === 'number' ? value * factor : Number.NaN;
		});
	const optional = (name: keyof typeof OPTIONAL): Float64Array | null => {
		const [id, factor] = OPTIONAL[name];
		return kept.some((row) => typeof row[id] === 'number') ? column(id, factor) : null;
	};
	return {
		count: kept.length,
		time_s: column('time', 1),
		mode: Uint8Array.from(kept, (row) => {
			const index = MODES.indexOf(row.mode as (typeof MODES)[number]);
			return index < 0 ? MODE_MISSING : index;
		}),
		feedFlow_m3_s: column('feed_flow_m3_h', 1 / 3600),
		feedDensity_kg_m3: column('feed_density_t_m3', 1000),
		returnFlow_m3_s: column('return_flow_m3_h', 1 / 3600),
		returnDensity_kg_m3: column('return_density_t_m3', 1000),
		sideFlow_m3_s: optional('sideFlow_m3_s'),
		chamberLevel_m: optional('chamberLevel_m'),
		feedTotal_m3: optional('feedTotal_m3'),
		returnTotal_m3: optional('returnTotal_m3'),
	};
}
