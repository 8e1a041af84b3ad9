import { createHash } from 'node:crypto';
import { z } from 'zod';
import {
	type BypassWindow,
	compareInBypass,
	LOGGER_BYPASS_RULES,
	type LoopVolumes,
} from '../../calc/circuit/bypass.ts';
import { FAULT_KINDS, FAULT_SIGNALS, type SignalFault } from '../../calc/circuit/faultrules.ts';
import { lineVolumes } from '../../calc/circuit/line.ts';
import { applyModeOverrides, type ModeOverride } from '../../calc/circuit/modeoverrides.ts';
import { MODES, type Samples } from '../../calc/circuit/samples.ts';
import { firstAfter, firstAtOrAfter } from '../../calc/circuit/span.ts';
import { SeriesDamaged } from '../logger/parquet/decode.ts';
import type { KeptChecks, StoredWindow } from '../store/projectfile.ts';
import type { DriveModel } from './drivemodel.ts';
import type { LoggerSeries, Progress } from './loggerseries.ts';
import { BypassFinder, type Stretch, scanSeries } from './seriesscan.ts';

/** Raised whenever the same series may come out differently: what is kept is then made anew. */
const SCAN_VERSION = 1;
/** How far back a window's slice is first fetched, and at most. */
const FIRST_REACH_S = 7_200;
const FARTHEST_REACH_S = 4 * 86_400;

interface KnownWindow extends Stretch {
	/** Hash of what it was made from; empty: not made yet. */
	readonly inputHash: string;
	readonly window: BypassWindow | null;
}

/**
 * The bypass windows and signal faults of the logger's series, found in one pass and kept in the
 * document: afterwards only what a set mode or another line volume concerns is looked at again.
 */
export class BypassLogger {
	readonly #series: LoggerSeries | null;
	#scanId: string;
	#overrides: readonly ModeOverride[];
	#known: KnownWindow[];
	#faults: readonly SignalFault[];
	/** What the windows were last held against; the model makes these anew only when they change. */
	#seen: { settings: unknown; rings: unknown; overrides: unknown } | null = null;
	#damage: string | null = null;

	constructor(series: LoggerSeries | null, kept: KeptChecks | null) {
		this.#series = series;
		this.#scanId = kept?.scanId ?? '';
		this.#overrides = readOverrides(kept?.overrides);
		this.#faults = readFaults(kept?.faults);
		this.#known = (kept?.windows ?? []).map(({ from_s, to_s, inputHash, window }) => {
			const read = readWindow(window);
			return { from_s, to_s, window: read, inputHash: read === null ? '' : inputHash };
		});
	}

	get faults(): readonly SignalFault[] {
		return this.#faults;
	}
	/** Why the series could not be read, if it could not. */
	get damage(): string | null {
		return this.#damage;
	}
	/** Windows as far as they are made, in order of time; readings as shown. */
	get windows(): readonly BypassWindow[] {
		return this.#known.flatMap(({ window }) => (window === null ? [] : [window]));
	}

	kept(): KeptChecks {
		return {
			scanId: this.#scanId,
			overrides: JSON.stringify(this.#overrides),
			faults: JSON.stringify(this.#faults),
			windows: this.#known.map(
				({ from_s, to_s, inputHash, window }): StoredWindow => ({
					from_s,
					to_s,
					inputHash,
					window: JSON.stringify(window),
				}),
			),
		};
	}

	/** Looks through the series if that was not done yet. True if it was done now. */
	async scan(progress: Progress): Promise<boolean> {
		if (this.#series === null) return false;
		const id = `${SCAN_VERSION} ${this.#series.id}`;
		if (this.#scanId === id) return false;
		const found = await this.#unlessDamaged(scanSeries(this.#series, progress));
		if (found === null) return false;
		this.#scanId = id;
		this.#overrides = [];
		this.#faults = found.faults;
		this.#known = found.stretches.map((stretch) => ({ ...stretch, inputHash: '', window: null }));
		this.#seen = null;
		return true;
	}

	/** Brings the windows up to the model. True if any of them changed. */
	async compare(model: DriveModel, progress: Progress): Promise<boolean> {
		if (this.#series === null || this.#damage !== null) return false;
		const { settings, rings, overrides } = model;
		const seen = this.#seen;
		if (seen?.settings === settings && seen.rings === rings && seen.overrides === overrides)
			return false;
		const made = await this.#unlessDamaged(this.#bringUp(this.#series, model, progress));
		if (made === null) return false;
		this.#seen = { settings, rings, overrides };
		return made;
	}

	async #bringUp(series: LoggerSeries, model: DriveModel, progress: Progress): Promise<boolean> {
		const moved = await this.#setModes(series, model.overrides);
		let changed = moved !== null;
		const known = moved ?? this.#known;
		const made: KnownWindow[] = [];
		for (const one of known) {
			const lines = linesAt(model, one.from_s);
			const inputHash = windowHash(series, one, lines, model.overrides);
			if (one.inputHash === inputHash) {
				made.push(one);
				continue;
			}
			progress('comparing the meters in bypass', made.length, known.length);
			const window = await compareIn(series, one, lines, model.overrides);
			changed = true;
			made.push({ ...one, inputHash, window });
		}
		this.#known = made;
		this.#overrides = model.overrides;
		return changed;
	}

	/** The stretches as they are with other set modes, found anew where those differ; null if none do. */
	async #setModes(
		series: LoggerSeries,
		overrides: readonly ModeOverride[],
	): Promise<KnownWindow[] | null> {
		const text = (one: ModeOverride) => JSON.stringify([one.from_s, one.to_s, one.mode]);
		const before = new Set(this.#overrides.map(text));
		const after = new Set(overrides.map(text));
		const differing = [
			...this.#overrides.filter((one) => !after.has(text(one))),
			...overrides.filter((one) => !before.has(text(one))),
		];
		if (differing.length === 0) return null;
		let known = this.#known;
		for (const region of regionsOf(differing, known, series.gapLimit_s)) {
			const finder = new BypassFinder(series.gapLimit_s);
			for (const day of series.days) {
				if (day.to_s < region.from_s || day.from_s > region.to_s) continue;
				finder.push(
					withModes(
						await series.span(Math.max(region.from_s, day.from_s), Math.min(region.to_s, day.to_s)),
						overrides,
					),
				);
			}
			const found = finder.end().map((stretch): KnownWindow => {
				const same = known.find(
					(one) => one.from_s === stretch.from_s && one.to_s === stretch.to_s,
				);
				return same ?? { ...stretch, inputHash: '', window: null };
			});
			known = [...known.filter((one) => !overlaps(one, region)), ...found];
		}
		return known.sort((a, b) => a.from_s - b.from_s);
	}

	async #unlessDamaged<T>(work: Promise<T>): Promise<T | null> {
		try {
			return await work;
		} catch (error) {
			if (!(error instanceof SeriesDamaged)) throw error;
			this.#damage = error.message;
			return null;
		}
	}
}

const overlaps = (a: Stretch, b: Stretch): boolean => a.from_s <= b.to_s && a.to_s >= b.from_s;

/** Samples with the modes a person has set, only those that reach into them being looked at. */
export function withModes(samples: Samples, overrides: readonly ModeOverride[]): Samples {
	if (samples.count === 0) return samples;
	const from_s = samples.time_s[0]!;
	const to_s = samples.time_s[samples.count - 1]!;
	return applyModeOverrides(
		samples,
		overrides.filter((one) => one.from_s <= to_s && one.to_s > from_s),
	);
}

/** Stretches of time in which bypass may begin or end elsewhere, each holding whole stretches of bypass, none meeting another. */
function regionsOf(
	differing: readonly Stretch[],
	known: readonly Stretch[],
	gapLimit_s: number,
): Stretch[] {
	const regions: Stretch[] = [];
	const around = (one: Stretch) => ({
		from_s: one.from_s - gapLimit_s,
		to_s: one.to_s + gapLimit_s,
	});
	const wide = differing.map((one) => {
		const reach = around(one);
		const met = known.filter((stretch) => overlaps(stretch, reach));
		return {
			from_s: Math.min(reach.from_s, ...met.map((stretch) => stretch.from_s)),
			to_s: Math.max(reach.to_s, ...met.map((stretch) => stretch.to_s)),
		};
	});
	for (const one of wide.sort((a, b) => a.from_s - b.from_s)) {
		const last = regions.at(-1);
		if (last !== undefined && one.from_s <= last.to_s)
			regions[regions.length - 1] = { ...last, to_s: Math.max(last.to_s, one.to_s) };
		else regions.push(one);
	}
	return regions;
}

/** Volumes of both lines at a time: those of the ring that is being cut or comes next, else of the last. */
export function linesAt(model: DriveModel, time_s: number): LoopVolumes | null {
	const ring = model.ringNextEnding(time_s);
	if (ring === undefined) return null;
	const { feedStart_m3, returnStart_m3 } = lineVolumes(model.settings, ring, null);
	return feedStart_m3 === null || returnStart_m3 === null
		? null
		: { feed_m3: feedStart_m3, return_m3: returnStart_m3 };
}

function windowHash(
	series: LoggerSeries,
	stretch: Stretch,
	lines: LoopVolumes | null,
	overrides: readonly ModeOverride[],
): string {
	const near = overrides
		.filter((one) => one.from_s <= stretch.to_s && one.to_s > stretch.from_s - FARTHEST_REACH_S)
		.map(({ from_s, to_s, mode }) => [from_s, to_s, mode]);
	return createHash('sha256')
		.update(
			JSON.stringify([
				SCAN_VERSION,
				stretch.from_s,
				stretch.to_s,
				series.gapLimit_s,
				LOGGER_BYPASS_RULES,
				lines,
				near,
			]),
		)
		.digest('hex');
}

/** The window of one stretch, from a slice of the series that reaches back as far as the comparison looks. */
async function compareIn(
	series: LoggerSeries,
	stretch: Stretch,
	lines: LoopVolumes | null,
	overrides: readonly ModeOverride[],
): Promise<BypassWindow> {
	for (let reach_s = FIRST_REACH_S; ; reach_s *= 4) {
		const last = reach_s * 4 > FARTHEST_REACH_S;
		const from_s = stretch.from_s - (last ? FARTHEST_REACH_S : reach_s);
		const samples = withModes(await series.span(from_s, stretch.to_s), overrides);
		const from = firstAtOrAfter(samples.time_s, samples.count, stretch.from_s);
		const to = firstAfter(samples.time_s, samples.count, stretch.to_s);
		if (last || lines === null || reachOf(samples, from, lines) !== null)
			return compareInBypass(samples, [from, to], lines, LOGGER_BYPASS_RULES);
	}
}

const BYPASS = MODES.indexOf('bypass');
const STOP = MODES.indexOf('stop');

/**
 * Index of the first sample that a comparison in bypass beginning at `from` can look at, null if the
 * samples do not reach back so far: to the last flow through the chamber, or a stop after which the
 * sweep begins anew, and over enough feed to fill both lines twice. The limits are alike for logger and
 * readings.
 */
export function reachOf(samples: Samples, from: number, lines: LoopVolumes): number | null {
	let stopped = 0;
	let fed = 0;
	let begun = false;
	const enough = 2 * (lines.feed_m3 + lines.return_m3);
	for (let i = from; i > 0; i--) {
		const dt = samples.time_s[i]! - samples.time_s[i - 1]!;
		const mode = samples.mode[i - 1];
		stopped = mode === STOP ? stopped + dt : 0;
		begun ||= (mode !== BYPASS && mode !== STOP) || stopped > LOGGER_BYPASS_RULES.longestStop_s;
		const flow = Math.min(samples.feedFlow_m3_s[i]!, samples.feedFlow_m3_s[i - 1]!);
		if (flow > 0) fed += flow * dt;
		if (begun && fed >= enough) return i - 1;
	}
	return null;
}

const placeShape = z.object({
	code: z.string(),
	message: z.string(),
	where: z.record(z.string(), z.union([z.string(), z.number()])),
	weight: z.enum(['stop', 'note']),
});
const pairShape = z.object({
	from_s: z.number(),
	to_s: z.number(),
	count: z.number(),
	feed: z.number(),
	return: z.number(),
	difference: z.number(),
	u: z.number().nullable(),
});
const windowShape = z.object({
	from_s: z.number(),
	to_s: z.number(),
	flow: z.union([pairShape, placeShape]),
	density: z.union([pairShape, placeShape]),
});

/** A window as it was kept, or null if the text is not one (the file was changed by other hands). */
function readWindow(text: string): BypassWindow | null {
	const read = windowShape.safeParse(parsed(text));
	return read.success ? (read.data as BypassWindow) : null;
}

const overridesShape = z.array(
	z.object({
		from_s: z.number(),
		to_s: z.number(),
		mode: z.enum(MODES),
		why: z.string(),
	}),
);
function readOverrides(text: string | undefined): readonly ModeOverride[] {
	const read = overridesShape.safeParse(text === undefined ? [] : parsed(text));
	return read.success ? read.data : [];
}

const faultsShape = z.array(
	z.object({
		kind: z.enum(FAULT_KINDS),
		signal: z.enum(FAULT_SIGNALS).nullable(),
		from_s: z.number(),
		to_s: z.number(),
		count: z.number(),
		rule: z.string(),
	}),
);
function readFaults(text: string | undefined): readonly SignalFault[] {
	const read = faultsShape.safeParse(text === undefined ? [] : parsed(text));
	return read.success ? read.data : [];
}

function parsed(text: string): unknown {
	try {
		return JSON.parse(text);
	} catch {
		return null;
	}
}
