import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';

/** A folder of its own for one test, gone when the test is over. */
export async function emptyFolder(): Promise<string> {
	const folder = await mkdtemp(join(tmpdir(), 'plain-folder-'));
	onTestFinished(() => rm(folder, { recursive: true, force: true }));
	return folder;
}

export const DRIVE = {
	title: 'Invented drive under Hollerfeld',
	excavated_diameter_m: 6.6,
	nominal_advance_m: 1.5,
	water_temperature_c: 15,
	uncertainty: { flow_scale_rel: 0.005 },
	invented: true,
};

/** The smallest sound folder, as text by file name. */
export const SOUND: Readonly<Record<string, string>> = {
	'drive.json': JSON.stringify(DRIVE, null, '\t'),
	'rings.csv': [
		'ring,advance_start,advance_end,stroke_start_mm,stroke_end_mm',
		'1,2026-03-02T06:00:00+01:00,2026-03-02T06:40:00+01:00,400,1900',
		'2,2026-03-02T08:00:00+01:00,2026-03-02T08:40:00+01:00,400,1900',
		'',
	].join('\n'),
	'ground.csv': [
		'from_ring,to_ring,stratum,face_fraction,grain_density_t_m3,dry_density_t_m3,passing_0.063_mm',
		'1,2,Sand,0.6,2.65,1.7,8',
		'1,2,Marl,0.4,2.70,1.8,45',
		'',
	].join('\n'),
	'readings.csv': [
		'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3,note',
		'2026-03-02T06:00:00+01:00,advance,900,1.08,960,1.19,',
		'2026-03-02T06:20:00+01:00,advance,910,1.08,970,1.20,"pump 2, slow"',
		'',
	].join('\n'),
	'meters.csv':
		'meter,valid_from,slope,offset,certificate\nfeed_flow,2026-01-01T00:00:00Z,1.002,0,C-17\n',
};

/** A folder with the sound files, some replaced; null leaves one out. */
export async function folderWith(
	changed: Readonly<Record<string, string | Uint8Array | null>> = {},
): Promise<string> {
	const folder = await emptyFolder();
	for (const [name, content] of Object.entries({ ...SOUND, ...changed }))
		if (content !== null) await writeFile(join(folder, name), content);
	return folder;
}
