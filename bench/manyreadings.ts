import { spawnSync } from 'node:child_process';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { isoTime } from '../calc/quantity/time.ts';

/** 2031-01-06 06:00 UTC. */
const START_S = 1_925_440_800;
const RING_S = 5400;
const ADVANCE_S = 2700;

/**
 * Writes a long invented drive without a logger as a plain folder: every ring alike but for slow
 * waves in its flows and densities, so that an edit meets a full-sized drive with figures that differ.
 */
function writeLongDrive(folder: string, rings: number, readingsPerRing: number): void {
	mkdirSync(folder, { recursive: true });
	writeFileSync(
		join(folder, 'drive.json'),
		JSON.stringify({
			title: 'Invented long drive for timing',
			invented: true,
			excavated_diameter_m: 6.8,
			nominal_advance_m: 1.5,
			working_chamber_area_m2: 12,
			chamber_mixed_volume_m3: 55,
			feed_line_diameter_m: 0.35,
			return_line_diameter_m: 0.3,
			return_meter_distance_m: 600,
			line_growth_m_per_ring: 0.05,
			water_temperature_c: 14,
			water_salinity_g_kg: 0,
			uncertainty: { flow_scale_rel: 0.001, density_offset_kg_m3: 0.6 },
		}),
	);
	const ringRows = [
		'ring,advance_start,advance_end,stroke_start_mm,stroke_end_mm,chamber_level_start_m,chamber_level_end_m',
	];
	const readings = [
		'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3,ring',
	];
	for (let ring = 1; ring <= rings; ring += 1) {
		const start_s = START_S + (ring - 1) * RING_S;
		const end_s = start_s + ADVANCE_S;
		ringRows.push(`${ring},${isoTime(start_s, 60)},${isoTime(end_s, 60)},300,1800,4.5,4.5`);
		for (let n = 0; n < readingsPerRing; n += 1) {
			// The last reading stands a little behind the advance, so that the lag is covered.
			const time_s = start_s + Math.round(((ADVANCE_S + 600) * n) / (readingsPerRing - 1));
			const wave = Math.sin(ring / 7 + n / 11);
			const feed = 1100 + 8 * wave;
			const cutting = time_s <= end_s ? 72 + 3 * Math.cos(n / 5) : 0;
			readings.push(
				[
					isoTime(time_s, 60),
					time_s <= end_s ? 'advance' : 'bypass',
					feed.toFixed(1),
					(1.08 + 0.002 * wave).toFixed(4),
					(feed + cutting).toFixed(1),
					(1.135 + 0.004 * wave).toFixed(4),
					ring,
				].join(','),
			);
		}
	}
	writeFileSync(join(folder, 'rings.csv'), `${ringRows.join('\n')}\n`);
	writeFileSync(join(folder, 'readings.csv'), `${readings.join('\n')}\n`);
	writeFileSync(
		join(folder, 'ground.csv'),
		`from_ring,to_ring,stratum,face_fraction,grain_density_t_m3,dry_density_t_m3\n1,${rings},fine sand,1,2.65,1.62\n`,
	);
}

/** Makes a project of such a drive in a folder, as a person would, and gives its path. */
export function makeLongProject(folder: string, rings: number, readingsPerRing: number): string {
	const project = join(folder, 'long.slurrybook');
	process.stdout.write(`Making ${rings} rings × ${readingsPerRing} readings\n`);
	writeLongDrive(join(folder, 'long'), rings, readingsPerRing);
	const made = spawnSync(
		process.execPath,
		['electron/launch/desk.mjs', 'new', project, '--from', join(folder, 'long')],
		{ stdio: 'inherit' },
	);
	if (made.status !== 0) throw new Error('the project was not made');
	return project;
}
