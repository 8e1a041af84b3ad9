import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';
import { FaultList } from '../../../electron/folder/faultlist.ts';
import type { LoggerBatch } from '../../../electron/logger/batch.ts';
import { ByteParser } from '../../../electron/logger/byteparser.ts';
import type { DriveInputs } from '../../../electron/logger/ringwindow.ts';

export async function emptyFolder(): Promise<string> {
	const folder = await mkdtemp(join(tmpdir(), 'logger-'));
	onTestFinished(() => rm(folder, { recursive: true, force: true }));
	return folder;
}

export const HEAD =
	'time,mode,feed_flow_m3_h,feed_density_t_m3,return_flow_m3_h,return_density_t_m3';

export interface Parsed {
	readonly time_s: number[];
	readonly mode: number[];
	readonly numbers: Record<string, number[]>;
	readonly faults: FaultList;
	readonly unusable: boolean;
}

/** Parses a text cut into pieces of the given sizes (repeated), and joins the batches. */
export function parse(text: string | Uint8Array, pieces: readonly number[] = [1 << 20]): Parsed {
	const bytes = typeof text === 'string' ? new TextEncoder().encode(text) : text;
	const faults = new FaultList();
	const time_s: number[] = [];
	const mode: number[] = [];
	const numbers: Record<string, number[]> = {};
	const parser = new ByteParser({
		file: 'logger.csv',
		faults,
		take: (batch: LoggerBatch) => {
			time_s.push(...batch.time_s.subarray(0, batch.count));
			mode.push(...batch.mode.subarray(0, batch.count));
			for (const { id, values } of batch.numbers) {
				const column = numbers[id] ?? [];
				column.push(...values.subarray(0, batch.count));
				numbers[id] = column;
			}
		},
	});
	let at = 0;
	for (let piece = 0; at < bytes.length; piece++) {
		const size = Math.max(1, pieces[piece % pieces.length] ?? 1);
		parser.push(bytes.slice(at, at + size));
		at += size;
	}
	parser.end();
	return { time_s, mode, numbers, faults, unusable: parser.unusable };
}

export const START_S = Date.UTC(2026, 2, 1, 22) / 1000;
export const iso = (time_s: number): string =>
	new Date(time_s * 1000).toISOString().replace('.000Z', 'Z');

/** An invented record: rings every half hour cut in ten minutes, a step of `step_s`, and figures that move. */
export function madeRecord(count: number, step_s = 1): string {
	const lines = [`${HEAD},chamber_level_m,feed_total_m3`];
	for (let i = 0; i < count; i++) {
		const phase = (i * step_s) % 1800;
		const mode = phase < 600 ? 'advance' : phase < 1500 ? 'bypass' : 'stop';
		const flow = mode === 'stop' ? 0 : 900 + 20 * Math.sin(i / 37);
		const back = mode === 'stop' ? 0 : flow + (mode === 'advance' ? 60 : 0) + 5 * Math.sin(i / 11);
		const density = mode === 'advance' ? 1.19 : 1.09;
		const missing = i % 97 === 5;
		lines.push(
			`${iso(START_S + i * step_s)},${mode},${missing ? '' : flow.toFixed(1)},${(1.08 + 0.001 * Math.sin(i / 53)).toFixed(4)},${back.toFixed(1)},${(density + 0.004 * Math.sin(i / 29)).toFixed(4)},${(4 + 0.05 * Math.sin(i / 301)).toFixed(2)},${(123_456 + i * 0.25).toFixed(2)}`,
		);
	}
	return `${lines.join('\n')}\n`;
}

/** Rings that go with {@link madeRecord}, as many as lie within `count` steps. */
export function madeInputs(rings: number): DriveInputs {
	return {
		rings: Array.from({ length: rings }, (_, k) => ({
			ring: k + 1,
			advanceStart_s: START_S + k * 1800,
			advanceEnd_s: START_S + k * 1800 + 600,
			strokeStart_m: 0.4,
			strokeEnd_m: 1.9,
			chamberLevelStart_m: null,
			chamberLevelEnd_m: null,
			lineExtension_m: null,
		})),
		settings: {
			title: 'Invented drive under Hollerfeld',
			excavatedDiameter_m: 6.6,
			nominalAdvance_m: 1.5,
			overcut_m: null,
			overcutAngle_rad: null,
			workingChamberArea_m2: 10,
			chamberMixedVolume_m3: 20,
			feedLineDiameter_m: 0.3,
			returnLineDiameter_m: 0.3,
			returnMeterDistance_m: 600,
			lineGrowth_m_per_ring: 1.5,
			waterTemperature_c: 15,
			waterSalinity_g_kg: 0,
			bentoniteGrainDensity_kg_m3: null,
			uncertainty: {
				flowScale_rel: 0.005,
				flowOffset_m3_s: 0,
				densityOffset_kg_m3: 2,
				densityScale_rel: 0.01,
				diameter_m: 0.01,
				stroke_m: 0.005,
				grainDensity_kg_m3: 20,
				dryDensity_kg_m3: 20,
				level_m: 0.02,
			},
		},
		ground: [
			{
				fromRing: 1,
				toRing: 10_000,
				stratum: 'Sand',
				faceFraction: 1,
				grainDensity_kg_m3: 2650,
				dryDensity_kg_m3: 1700,
			},
		],
		meters: [
			{ meter: 'return_flow', validFrom_s: 0, slope: 1.001, offset_si: 0, certificate: 'C-3' },
		],
		referenceLevel_m: 4,
	};
}
