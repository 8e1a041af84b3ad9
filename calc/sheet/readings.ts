import { ASSUMED_WATER_C } from '../circuit/balance.ts';
import { lineInForce, meterLines } from '../circuit/meter.ts';
import { impossible } from '../circuit/series.ts';
import type { DriveSettings, GroundShare, MeterCertificate, MeterId } from '../circuit/settings.ts';
import { faceMix } from '../ground/facemix.ts';
import { formatQuantity, type NumberMarks } from '../quantity/format.ts';
import { solidsConcentration_kg_m3 } from '../suspension/solids.ts';
import { waterDensity_kg_m3 } from '../suspension/water.ts';
import { findColumn } from './catalogue.ts';
import type { CellValue } from './column.ts';
import { FIGURE_CAUTIONS, type Working, type WorkingLine } from './working.ts';

type Cells = Readonly<Record<string, CellValue>>;

/** What the computed columns of a reading look at besides the reading itself. */
export interface ReadingContext {
	readonly settings: DriveSettings;
	readonly ground: readonly GroundShare[];
	readonly meters: readonly MeterCertificate[];
	/** Ring whose advance window holds the reading, or the ring before it; null before the first. */
	readonly ring: number | null;
}

/** Computed cells of one reading, in the columns' own units, and why those that are blank are blank. */
export interface ComputedReading {
	readonly cells: Readonly<Record<string, number | null>>;
	readonly flags: Readonly<Record<string, readonly string[]>>;
}

interface Corrected {
	readonly feedFlow_m3_s: number | null;
	readonly returnFlow_m3_s: number | null;
	readonly sideFlow_m3_s: number;
	readonly feedDensity_kg_m3: number | null;
	readonly returnDensity_kg_m3: number | null;
	readonly water_kg_m3: number;
	readonly grain_kg_m3: number | null;
	readonly feedGrain_kg_m3: number | null;
	readonly groundMissing: string | null;
}

/**
 * Flow difference, solids concentrations and solids rate of one reading, with the meter certificates
 * in force at its time. A figure whose inputs are missing or impossible is null with a reason.
 */
export function computedReadingCells(cells: Cells, context: ReadingContext): ComputedReading {
	const c = corrected(cells, context);
	const out: Record<string, number | null> = {};
	const flags: Record<string, string[]> = {};
	const set = (id: string, value: number | string): void => {
		if (typeof value === 'number') out[id] = value;
		else {
			out[id] = null;
			flags[id] = [value];
		}
	};
	set('flow_difference_m3_h', flowDifference(c));
	set(
		'feed_solids_g_l',
		solids(c.feedDensity_kg_m3, c.feedGrain_kg_m3, c, 'feed density is missing'),
	);
	set(
		'return_solids_g_l',
		solids(c.returnDensity_kg_m3, c.grain_kg_m3, c, 'return density is missing'),
	);
	set('solids_rate_t_h', solidsRate(c));
	const odd = oddities(c);
	for (const [id, text] of odd) flags[id] = [...(flags[id] ?? []), text];
	return { cells: out, flags };
}

/** How a computed cell of a reading came about. */
export function readingWorking(
	columnId: string,
	cells: Cells,
	context: ReadingContext,
	marks: NumberMarks,
): Working {
	const column = findColumn('readings', columnId);
	if (column === undefined || column.kind !== 'computed' || column.unit === null) {
		throw new RangeError(`${columnId} is not a computed column of the readings`);
	}
	const c = corrected(cells, context);
	const { cells: values, flags } = computedReadingCells(cells, context);
	const value = values[columnId] ?? null;
	const density = (v: number | null): string =>
		v === null ? 'missing' : formatQuantity(v / 1000, 't/m3', 4, marks);
	const flow = (v: number | null): string =>
		v === null ? 'missing' : formatQuantity(v * 3600, 'm3/h', 1, marks);
	const read = (id: string): string =>
		cells[id] === undefined || cells[id] === null
			? 'missing'
			: 'entered, meter certificate applied';
	const all: Record<string, WorkingLine> = {
		Qf: {
			symbol: 'Qf',
			name: 'feed flow',
			value: flow(c.feedFlow_m3_s),
			from: read('feed_flow_m3_h'),
		},
		Qr: {
			symbol: 'Qr',
			name: 'return flow',
			value: flow(c.returnFlow_m3_s),
			from: read('return_flow_m3_h'),
		},
		Qj: {
			symbol: 'Qj',
			name: 'side flow',
			value: flow(c.sideFlow_m3_s),
			from: typeof cells.side_flow_m3_h === 'number' ? 'entered' : 'no side stream recorded',
		},
		ρf: {
			symbol: 'ρf',
			name: 'feed density',
			value: density(c.feedDensity_kg_m3),
			from: read('feed_density_t_m3'),
		},
		ρr: {
			symbol: 'ρr',
			name: 'return density',
			value: density(c.returnDensity_kg_m3),
			from: read('return_density_t_m3'),
		},
		ρw: {
			symbol: 'ρw',
			name: 'water density',
			value: density(c.water_kg_m3),
			from: 'water temperature and salinity of the drive',
		},
		ρs: {
			symbol: 'ρs',
			name: 'grain density of the ground',
			value: density(c.grain_kg_m3),
			from: 'ground sheet',
		},
		ρb: {
			symbol: 'ρs',
			name: 'grain density taken for the feed',
			value: density(c.feedGrain_kg_m3),
			from:
				context.settings.bentoniteGrainDensity_kg_m3 === null
					? 'ground sheet'
					: 'bentonite, drive settings',
		},
	};
	const uses: Record<string, readonly string[]> = {
		flow_difference_m3_h: ['Qr', 'Qf', 'Qj'],
		feed_solids_g_l: ['ρf', 'ρw', 'ρb'],
		return_solids_g_l: ['ρr', 'ρw', 'ρs'],
		solids_rate_t_h: ['Qr', 'ρr', 'Qf', 'ρf', 'ρw', 'ρs'],
	};
	const lines = (uses[columnId] ?? []).map((key) => all[key]!);
	const shown = (key: string): string => all[key]!.value;
	const numbers: Record<string, () => string> = {
		flow_difference_m3_h: () => `${shown('Qr')} − ${shown('Qf')} − ${shown('Qj')}`,
		feed_solids_g_l: () =>
			`${shown('ρb')} · (${shown('ρf')} − ${shown('ρw')}) / (${shown('ρb')} − ${shown('ρw')})`,
		return_solids_g_l: () =>
			`${shown('ρs')} · (${shown('ρr')} − ${shown('ρw')}) / (${shown('ρs')} − ${shown('ρw')})`,
		solids_rate_t_h: () =>
			`${shown('ρs')} / (${shown('ρs')} − ${shown('ρw')}) · [${shown('Qr')} · (${shown('ρr')} − ${shown('ρw')}) − ${shown('Qf')} · (${shown('ρf')} − ${shown('ρw')})]`,
	};
	return {
		heading: column.heading,
		result:
			value === null
				? 'blank'
				: formatQuantity(value, column.unit as 'm3/h', column.decimals + 1, marks),
		reasons: flags[columnId] ?? [],
		formula: column.formula ?? '',
		withNumbers: value === null ? '' : numbers[columnId]!(),
		lines,
		source: column.source ?? '',
		budget: [],
		cautions: [FIGURE_CAUTIONS[0]],
	};
}

function corrected(cells: Cells, context: ReadingContext): Corrected {
	const { settings, meters, ground, ring } = context;
	const time = typeof cells.time === 'number' ? cells.time : 0;
	const value = (id: string, factor: number, meter: MeterId): number | null => {
		const reading = cells[id];
		if (typeof reading !== 'number') return null;
		const lines = meterLines(meters, meter);
		const line = lines[lineInForce(lines, time)]!;
		return line.offset_si + line.slope * reading * factor;
	};
	const mix = ring === null ? null : faceMix(ground, ring);
	const grain = mix?.kind === 'mix' ? mix.grainDensity_kg_m3 : null;
	const side = cells.side_flow_m3_h;
	return {
		feedFlow_m3_s: value('feed_flow_m3_h', 1 / 3600, 'feed_flow'),
		returnFlow_m3_s: value('return_flow_m3_h', 1 / 3600, 'return_flow'),
		sideFlow_m3_s: typeof side === 'number' ? side / 3600 : 0,
		feedDensity_kg_m3: value('feed_density_t_m3', 1000, 'feed_density'),
		returnDensity_kg_m3: value('return_density_t_m3', 1000, 'return_density'),
		water_kg_m3: waterDensity_kg_m3(
			settings.waterTemperature_c ?? ASSUMED_WATER_C,
			settings.waterSalinity_g_kg ?? 0,
		),
		grain_kg_m3: grain,
		feedGrain_kg_m3: settings.bentoniteGrainDensity_kg_m3 ?? grain,
		groundMissing:
			mix === null
				? 'no ring has begun at this time'
				: mix.kind === 'fault'
					? mix.fault.message
					: null,
	};
}

function flowDifference(c: Corrected): number | string {
	if (c.feedFlow_m3_s === null) return 'feed flow is missing';
	if (c.returnFlow_m3_s === null) return 'return flow is missing';
	return (c.returnFlow_m3_s - c.feedFlow_m3_s - c.sideFlow_m3_s) * 3600;
}

function solids(
	density: number | null,
	grain: number | null,
	c: Corrected,
	missing: string,
): number | string {
	if (density === null) return missing;
	if (grain === null) return c.groundMissing ?? 'the grain density is missing';
	if (density < c.water_kg_m3) return 'the density is below that of water';
	if (density >= grain) return 'the density is not below that of the grains';
	return solidsConcentration_kg_m3(density, grain, c.water_kg_m3);
}

function solidsRate(c: Corrected): number | string {
	if (c.feedFlow_m3_s === null) return 'feed flow is missing';
	if (c.returnFlow_m3_s === null) return 'return flow is missing';
	if (c.feedDensity_kg_m3 === null) return 'feed density is missing';
	if (c.returnDensity_kg_m3 === null) return 'return density is missing';
	if (c.grain_kg_m3 === null) return c.groundMissing ?? 'the grain density is missing';
	const water = c.water_kg_m3;
	const excess =
		c.returnFlow_m3_s * (c.returnDensity_kg_m3 - water) -
		c.feedFlow_m3_s * (c.feedDensity_kg_m3 - water);
	return (((c.grain_kg_m3 / (c.grain_kg_m3 - water)) * excess) / 1000) * 3600;
}

/** Entered cells that the balance will leave out, after correction. */
function oddities(c: Corrected): [string, string][] {
	const found: [string, string][] = [];
	for (const side of ['feed', 'return'] as const) {
		const flow = c[`${side}Flow_m3_s`] ?? 0;
		const density = c[`${side}Density_kg_m3`] ?? c.water_kg_m3;
		const flowFault = impossible({ flow_m3_s: flow, density_kg_m3: c.water_kg_m3 }, c.water_kg_m3);
		const densityFault = impossible({ flow_m3_s: 0, density_kg_m3: density }, c.water_kg_m3);
		if (flowFault)
			found.push([`${side}_flow_m3_h`, `${flowFault.message} The balance leaves it out.`]);
		if (densityFault) {
			found.push([`${side}_density_t_m3`, `${densityFault.message} The balance leaves it out.`]);
		}
	}
	return found;
}
