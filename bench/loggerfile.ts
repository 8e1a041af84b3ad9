import { closeSync, openSync, writeFileSync, writeSync } from 'node:fs';
import { join } from 'node:path';

/** Rings of the invented record: one every two hours, cut in 50 minutes, the lines then run in bypass. */
const RING_S = 7200;
const ADVANCE_S = 3000;
const BYPASS_S = 6000;
const START_S = Date.UTC(2026, 2, 2) / 1000;

export interface LoggerFolder {
	readonly folder: string;
	readonly logger: string;
	readonly rings: number;
	readonly bytes: number;
}

/**
 * Writes a plain folder with an invented 1 Hz record of so many days: eight columns, figures that
 * scatter as meters do. The same seed writes the same bytes.
 */
export function writeLoggerFolder(folder: string, days: number, seed = 1): LoggerFolder {
	const logger = join(folder, 'logger.csv');
	const fd = openSync(logger, 'w');
	let text =
		'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3,chamber_level_m,face_pressure_bar\n';
	let state = seed | 0 || 1;
	const scatter = (width: number): number => {
		state ^= state << 13;
		state ^= state >>> 17;
		state ^= state << 5;
		return ((state >>> 0) / 4294967296 - 0.5) * width;
	};
	let bytes = 0;
	const count = days * 86_400;
	for (let i = 0; i < count; i++) {
		const phase = i % RING_S;
		const isAdvance = phase < ADVANCE_S;
		const isStop = phase >= BYPASS_S;
		const mode = isAdvance ? 'advance' : isStop ? 'stop' : 'bypass';
		const feed = isStop ? 0 : 900 + scatter(12);
		const back = isStop ? 0 : (isAdvance ? 960 : 900) + scatter(12);
		const time = new Date((START_S + i) * 1000).toISOString().slice(0, 19);
		text += `${time}Z,${mode},${feed.toFixed(1)},${(1.08 + scatter(0.004)).toFixed(4)},${back.toFixed(1)},${((isAdvance ? 1.2 : 1.09) + scatter(0.004)).toFixed(4)},${(4 + scatter(0.02)).toFixed(2)},${(2.5 + scatter(0.02)).toFixed(2)}\n`;
		if (text.length > 1 << 20) {
			bytes += writeSync(fd, text);
			text = '';
		}
	}
	bytes += writeSync(fd, text);
	closeSync(fd);
	const rings = Math.floor(count / RING_S);
	const iso = (s: number): string => `${new Date(s * 1000).toISOString().slice(0, 19)}Z`;
	const lines = Array.from({ length: rings }, (_, k) => {
		const start = START_S + k * RING_S;
		return `${k + 1},${iso(start)},${iso(start + ADVANCE_S)},400,1900,4,4`;
	});
	writeFileSync(
		join(folder, 'rings.csv'),
		`ring,advance_start,advance_end,stroke_start_mm,stroke_end_mm,chamber_level_start_m,chamber_level_end_m\n${lines.join('\n')}\n`,
	);
	writeFileSync(
		join(folder, 'ground.csv'),
		`from_ring,to_ring,stratum,face_fraction,grain_density_t_m3,dry_density_t_m3\n1,${rings},sand,1,2.65,1.7\n`,
	);
	writeFileSync(join(folder, 'drive.json'), `${JSON.stringify(DRIVE, null, '\t')}\n`);
	return { folder, logger, rings, bytes };
}

const DRIVE = {
	title: 'Invented drive for measuring',
	invented: true,
	excavated_diameter_m: 6.6,
	nominal_advance_m: 1.5,
	working_chamber_area_m2: 10,
	chamber_mixed_volume_m3: 20,
	feed_line_diameter_m: 0.3,
	return_line_diameter_m: 0.3,
	return_meter_distance_m: 1500,
	line_growth_m_per_ring: 1.5,
	water_temperature_c: 15,
	water_salinity_g_kg: 0,
	uncertainty: { flow_scale_rel: 0.005, density_offset_kg_m3: 2 },
};

/** Unix seconds of the advance windows. */
export function ringWindows(rings: number): { ring: number; from_s: number; to_s: number }[] {
	return Array.from({ length: rings }, (_, k) => ({
		ring: k + 1,
		from_s: START_S + k * RING_S,
		to_s: START_S + k * RING_S + ADVANCE_S,
	}));
}
