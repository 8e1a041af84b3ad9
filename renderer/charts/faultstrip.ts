import type { FaultKind, FaultSignal } from '../../calc/circuit/faultrules.ts';
import type { Timeline } from '../../electron/contract/verbs.ts';
import { placeOnStrip } from './bands.ts';
import type { PanelId, Span } from './traces.ts';

/** What is wrong with signals, in words and as marks on the timeline. */

export type SignalFaultShown = NonNullable<Timeline['signalFaults']>[number];

export const FAULT_WORDS: Readonly<Record<FaultKind, string>> = {
	frozen: 'Frozen',
	spike: 'Spike',
	saturation: 'At end of range',
	dropout: 'Dropout',
	clock_jump: 'Clock jump',
	daylight_saving: 'Daylight saving',
	repeated_rows: 'Repeated rows',
};

export const FAULT_SIGNAL_WORDS: Readonly<Record<FaultSignal, string>> = {
	feedFlow_m3_s: 'feed flow',
	feedDensity_kg_m3: 'feed density',
	returnFlow_m3_s: 'return flow',
	returnDensity_kg_m3: 'return density',
	sideFlow_m3_s: 'side flow',
	chamberLevel_m: 'chamber level',
	feedTotal_m3: 'feed totaliser',
	returnTotal_m3: 'return totaliser',
};

const PANEL_OF: Readonly<Partial<Record<FaultSignal, PanelId>>> = {
	feedFlow_m3_s: 'flow',
	returnFlow_m3_s: 'flow',
	feedDensity_kg_m3: 'density',
	returnDensity_kg_m3: 'density',
	chamberLevel_m: 'level',
};

/** "Spike, return flow"; faults of stamps and of whole rows name no signal. */
export function faultName({ kind, signal }: Pick<SignalFaultShown, 'kind' | 'signal'>): string {
	return signal === null
		? FAULT_WORDS[kind]
		: `${FAULT_WORDS[kind]}, ${FAULT_SIGNAL_WORDS[signal]}`;
}

/** Whether a fault is marked in a panel: in that of its signal; of all signals in every panel. */
export function concerns({ signal }: Pick<SignalFaultShown, 'signal'>, panel: PanelId): boolean {
	return signal === null || PANEL_OF[signal] === panel;
}

/** Lanes a strip has at most; what finds no free one is drawn in the last. */
export const MOST_LANES = 2;
const LANES = [0, 1] as const;
const LEAST_WIDTH = 4;
const GAP = 3;

export interface FaultPiece {
	readonly fault: SignalFaultShown;
	readonly left: number;
	readonly width: number;
	readonly lane: number;
	/** Name beside the mark where there is room for it, or empty. */
	readonly word: string;
}

/**
 * Marks of the faults in view, in lanes so that neither marks nor names cover each other: a mark goes
 * where the name before it still has its room, else where at least the mark before it ends.
 */
export function faultPieces(
	faults: readonly SignalFaultShown[],
	view: Span,
	width: number,
	pxPerLetter: number,
): FaultPiece[] {
	const pieces: { -readonly [K in keyof FaultPiece]: FaultPiece[K] }[] = [];
	const last: (FaultPiece & { word: string })[] = [];
	const endOf = (lane: number, named: boolean): number => {
		const before = last[lane];
		if (!before) return Number.NEGATIVE_INFINITY;
		const name = named && before.word !== '' ? nameWidth(before.word, pxPerLetter) : 0;
		return before.left + before.width + name + GAP;
	};
	for (const fault of faults) {
		const strip = placeOnStrip(fault, view, width);
		if (!strip) continue;
		const wide = Math.max(LEAST_WIDTH, strip.width);
		const left = Math.max(0, Math.min(strip.left, width - wide));
		const lane =
			LANES.find((each) => endOf(each, true) <= left) ??
			LANES.find((each) => endOf(each, false) <= left) ??
			MOST_LANES - 1;
		const before = last[lane];
		if (before && endOf(lane, true) > left) before.word = '';
		const name = faultName(fault);
		const fits = left + wide + nameWidth(name, pxPerLetter) <= width;
		const piece = { fault, left, width: wide, lane, word: fits ? name : '' };
		last[lane] = piece;
		pieces.push(piece);
	}
	return pieces;
}

const nameWidth = (name: string, pxPerLetter: number): number => name.length * pxPerLetter + 8;

/** Lanes kept for the faults of a timeline, whatever part of it is in view. */
export function lanesFor(faults: readonly SignalFaultShown[]): number {
	return Math.min(MOST_LANES, faults.length);
}

/** How many stretches have something wrong. */
export function faultCount(faults: readonly SignalFaultShown[]): string {
	return `${faults.length} signal ${faults.length === 1 ? 'fault' : 'faults'}`;
}
