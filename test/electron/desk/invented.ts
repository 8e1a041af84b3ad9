import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Answer, Ask, DeskEvent, Reply, VerbName } from '../../../electron/contract/verbs.ts';
import { VERBS } from '../../../electron/contract/verbs.ts';
import { openDesk } from '../../../electron/desk/desk.ts';
import type { DeskHandle, DeskOptions } from '../../../electron/desk/door.ts';

/** An invented drive as a plain folder: as many rings as asked for, readings every `step_s` seconds. */
export interface InventedDrive {
	readonly rings: number;
	readonly step_s?: number;
	readonly strata?: number;
}

/** 2026-03-01T06:00:00Z, the first advance. */
export const FIRST_START_S = 1_772_344_800;
const ADVANCE_S = 2_700;
export const RING_S = 5_400;

export const iso = (time_s: number): string => new Date(time_s * 1000).toISOString();
export const startOf = (ring: number): number => FIRST_START_S + (ring - 1) * RING_S;

export function writeInventedFolder(folder: string, { rings, step_s = 300 }: InventedDrive): void {
	mkdirSync(folder, { recursive: true });
	writeFileSync(
		join(folder, 'drive.json'),
		JSON.stringify({
			title: 'Invented drive, Nowhere-on-Sea',
			invented: true,
			excavated_diameter_m: 9.2,
			nominal_advance_m: 1.8,
			working_chamber_area_m2: 28,
			chamber_mixed_volume_m3: 90,
			feed_line_diameter_m: 0.35,
			return_line_diameter_m: 0.35,
			return_meter_distance_m: 300,
			line_growth_m_per_ring: 1.8,
			water_temperature_c: 12,
			water_salinity_g_kg: 0,
			bentonite_grain_density_kg_m3: 2600,
			uncertainty: { flow_scale_rel: 0.002, density_offset_kg_m3: 2, stroke_m: 0.003 },
		}),
	);
	const ringLines = [
		'ring,advance_start,advance_end,stroke_start_mm,stroke_end_mm,chamber_level_start_m,chamber_level_end_m',
	];
	for (let ring = 1; ring <= rings; ring++)
		ringLines.push(
			[ring, iso(startOf(ring)), iso(startOf(ring) + ADVANCE_S), 200, 2000, 5, 5.1].join(','),
		);
	writeFileSync(join(folder, 'rings.csv'), `${ringLines.join('\n')}\n`);
	const half = Math.max(1, Math.floor(rings / 2));
	writeFileSync(
		join(folder, 'ground.csv'),
		[
			'from_ring,to_ring,stratum,face_fraction,grain_density_t_m3,dry_density_t_m3,passing_0.063_mm',
			`1,${half},Sand,1,2.65,1.68,6`,
			`${half + 1},${rings + 50},Sand,0.6,2.65,1.68,6`,
			`${half + 1},${rings + 50},Silt,0.4,2.68,1.55,70`,
			'',
		].join('\n'),
	);
	writeFileSync(
		join(folder, 'meters.csv'),
		`meter,valid_from,slope,offset,certificate\nfeed_flow,${iso(FIRST_START_S - 86_400)},1.001,0.5,C-1\n`,
	);
	const lines = [
		'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3,chamber_level_m,marsh_s_per_quart,note',
	];
	const end = startOf(rings) + RING_S;
	for (let t = FIRST_START_S - 1_800, n = 0; t <= end; t += step_s, n++) {
		const inRing = (((t - FIRST_START_S) % RING_S) + RING_S) % RING_S;
		const advancing = t >= FIRST_START_S && inRing <= ADVANCE_S;
		lines.push(
			[
				iso(t),
				advancing ? 'advance' : 'bypass',
				1_000 + (n % 5),
				(1.08 + (n % 7) * 0.001).toFixed(3),
				(advancing ? 1_160 : 1_000) + (n % 3),
				(advancing ? 1.2 : 1.09).toFixed(3),
				(5 + (n % 4) * 0.02).toFixed(2),
				n % 10 === 0 ? 38 : '',
				n % 50 === 0 ? 'invented' : '',
			].join(','),
		);
	}
	writeFileSync(join(folder, 'readings.csv'), `${lines.join('\n')}\n`);
}

/** A desk on scratch folders, with a clock that stands, and calls typed and checked against the contract. */
export class TestDesk {
	readonly handle: DeskHandle;
	readonly events: DeskEvent[] = [];
	now_s = 1_780_000_000;

	constructor(folder: string, change: Partial<DeskOptions> = {}) {
		this.handle = openDesk({
			host: 'headless',
			appVersion: '0.0.0',
			now_s: () => this.now_s,
			person: 'Tester',
			settingsFolder: join(folder, 'settings'),
			documentsFolder: folder,
			demoFolder: join(folder, 'demo'),
			...change,
		});
		this.handle.listen((event) => this.events.push(event));
	}

	/** Every answer is held against the contract's shape, in both directions: nothing missing, nothing more. */
	async call<V extends VerbName>(verb: V, ask: Ask<V>): Promise<Reply<Answer<V>>> {
		const reply = (await this.handle.handle(verb, ask)) as Reply<Answer<V>>;
		if (reply.ok) {
			const parsed = VERBS[verb].answer.parse(reply.value);
			if (JSON.stringify(sorted(parsed)) !== JSON.stringify(sorted(reply.value)))
				throw new Error(`${verb} answers more than the contract says`);
		}
		return reply;
	}

	async must<V extends VerbName>(verb: V, ask: Ask<V>): Promise<Answer<V>> {
		const reply = await this.call(verb, ask);
		if (!reply.ok) throw new Error(`${verb}: ${reply.code}: ${reply.message}`);
		return reply.value;
	}

	async placeOf(name: string, inside?: string): Promise<string> {
		const listing = await this.must('places.list', inside === undefined ? {} : { placeId: inside });
		const entry = listing.entries.find((one) => one.name === name);
		if (entry === undefined) throw new Error(`${name} is not listed`);
		return entry.placeId;
	}

	/** Makes a project `name` from a folder that stands in the documents folder, and opens it. */
	async create(folderName: string, name: string): Promise<void> {
		const root = await this.must('places.list', {});
		await this.must('project.create', {
			folderId: await this.placeOf(folderName),
			intoId: root.placeId,
			name,
			take: 'all',
		});
	}

	async open(fileName: string): Promise<void> {
		await this.must('project.open', { placeId: await this.placeOf(fileName) });
	}
}

export function sorted(value: unknown): unknown {
	if (Array.isArray(value)) return value.map(sorted);
	if (typeof value !== 'object' || value === null) return value;
	return Object.fromEntries(
		Object.entries(value)
			.sort(([a], [b]) => (a < b ? -1 : 1))
			.map(([key, part]) => [key, sorted(part)]),
	);
}
