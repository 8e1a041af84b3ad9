import uPlot from 'uplot';
import { formatNumber } from '../../calc/quantity/format.ts';
import type { Timeline } from '../../electron/contract/verbs.ts';
import { concerns } from './faultstrip.ts';
import type { Inks } from './inks.ts';
import { clockStep_s, clockTicks, decimalsOf, tickTexts } from './ticks.ts';
import { type PANELS, type PanelId, SIGNALS, type Span, type Traces } from './traces.ts';

/** Width kept for the value axis, px: all panels and the band above them line up on it. */
export const AXIS_WIDTH = 60;
export const RIGHT_EDGE = 24;
/** Height of the time axis under the lowest panel, px. */
export const CLOCK_HEIGHT = 22;
/** A value nearer to the panel's edge than this would be cut off, px. */
const EDGE = 4;

export interface PanelAsk {
	readonly panel: (typeof PANELS)[number];
	readonly timeline: Timeline;
	readonly traces: Traces;
	readonly inks: Inks;
	readonly width: number;
	readonly height: number;
	readonly full: Span;
	readonly utcOffset_min: number;
	readonly decimal: '.' | ',';
	/** Panels of one key share their crosshair and zoom. */
	readonly syncKey: string;
	/** The lowest panel bears the clock. */
	readonly withClock: boolean;
	readonly onCursor: (entry: number | null) => void;
	readonly onView: (view: Span) => void;
	readonly onReset: () => void;
}

function hatch(plot: uPlot, left: number, width: number, colour: string) {
	const { ctx, bbox } = plot;
	ctx.save();
	ctx.beginPath();
	ctx.rect(left, bbox.top, width, bbox.height);
	ctx.clip();
	ctx.strokeStyle = colour;
	ctx.lineWidth = uPlot.pxRatio;
	ctx.beginPath();
	const step = 7 * uPlot.pxRatio;
	for (let x = left - bbox.height; x < left + width; x += step) {
		ctx.moveTo(x, bbox.top + bbox.height);
		ctx.lineTo(x + bbox.height, bbox.top);
	}
	ctx.stroke();
	ctx.restore();
}

/** Behind the lines: the ring's advance window shaded with its edges, stretches without data hatched, faults of the panel's signals shaded. */
function backdrop(plot: uPlot, timeline: Timeline, panel: PanelId, inks: Inks) {
	const { ctx, bbox } = plot;
	const edge = (time_s: number) =>
		Math.min(bbox.left + bbox.width, Math.max(bbox.left, plot.valToPos(time_s, 'x', true)));
	const { advanceWindow } = timeline;
	const from = edge(advanceWindow.from_s);
	const to = edge(advanceWindow.to_s);
	ctx.save();
	if (to > from) {
		ctx.fillStyle = inks.wash;
		ctx.globalAlpha = 0.55;
		ctx.fillRect(from, bbox.top, to - from, bbox.height);
		ctx.globalAlpha = 1;
	}
	for (const stretch of timeline.modes) {
		if (stretch.mode !== null) continue;
		const left = edge(stretch.from_s);
		const right = edge(stretch.to_s);
		if (right <= left) continue;
		ctx.fillStyle = inks.surface;
		ctx.fillRect(left, bbox.top, right - left, bbox.height);
		hatch(plot, left, right - left, inks.line);
	}
	ctx.fillStyle = inks.note;
	ctx.globalAlpha = 0.28;
	for (const fault of timeline.signalFaults ?? []) {
		if (!concerns(fault, panel)) continue;
		const left = edge(fault.from_s);
		const right = edge(fault.to_s);
		const inView = right > bbox.left && left < bbox.left + bbox.width;
		if (inView)
			ctx.fillRect(left, bbox.top, Math.max(2 * uPlot.pxRatio, right - left), bbox.height);
	}
	ctx.globalAlpha = 1;
	ctx.strokeStyle = inks.accent;
	ctx.lineWidth = uPlot.pxRatio;
	for (const time_s of [advanceWindow.from_s, advanceWindow.to_s]) {
		const x = plot.valToPos(time_s, 'x', true);
		if (x < bbox.left || x > bbox.left + bbox.width) continue;
		ctx.beginPath();
		ctx.moveTo(Math.round(x), bbox.top);
		ctx.lineTo(Math.round(x), bbox.top + bbox.height);
		ctx.stroke();
	}
	ctx.restore();
}

/** Room above and below the values; a flat line still gets an axis around it. */
function valueRange(_plot: uPlot, min: number | null, max: number | null): uPlot.Range.MinMax {
	if (min === null || max === null) return [0, 1];
	return uPlot.rangeNum(min, max, 0.12, true);
}

/** Draw one panel into `host`. The caller destroys it. */
export function drawPanel(host: HTMLElement, ask: PanelAsk): uPlot {
	const { panel, timeline, traces, inks } = ask;
	const signals = SIGNALS.filter((signal) => signal.panel === panel.id);
	const measured = signals.some((signal) =>
		traces.columns[signal.key].some((value) => value !== null),
	);
	const byHand = timeline.source === 'readings';
	const plot = new uPlot(
		{
			width: ask.width,
			height: ask.height,
			padding: [3, RIGHT_EDGE, ask.withClock ? 0 : 3, 0],
			legend: { show: false },
			cursor: {
				drag: { x: true, y: false, setScale: true, dist: 4 },
				sync: { key: ask.syncKey, scales: ['x', null] },
				points: { size: 8, width: 2 },
				// The crosshair stands on a stamp, so that line, points and values tell of one moment.
				move: (drawn, left, top) => {
					if (left < 0) return [left, top];
					const stamp = drawn.data[0][drawn.posToIdx(left)];
					return [stamp === undefined ? left : drawn.valToPos(stamp, 'x'), top];
				},
				y: false,
				bind: {
					dblclick: () => () => {
						ask.onReset();
						return null;
					},
				},
			},
			scales: {
				x: { time: false, auto: false, min: ask.full.from_s, max: ask.full.to_s },
				y: { range: valueRange },
			},
			axes: [
				{
					show: ask.withClock,
					size: CLOCK_HEIGHT,
					font: inks.font,
					stroke: inks.soft,
					gap: 2,
					grid: { stroke: inks.line, width: 1 },
					ticks: { stroke: inks.strong, width: 1, size: 4 },
					splits: (drawn, _axis, min, max) => {
						const most = Math.max(2, Math.floor(drawn.bbox.width / uPlot.pxRatio / 88));
						return clockTicks(min, max, clockStep_s(max - min, most), ask.utcOffset_min);
					},
					values: (drawn, ticks) => {
						const { min, max } = drawn.scales.x as uPlot.Scale;
						const most = Math.max(2, Math.floor(drawn.bbox.width / uPlot.pxRatio / 88));
						const step = clockStep_s((max as number) - (min as number), most);
						return tickTexts(ticks, step, ask.utcOffset_min);
					},
				},
				{
					size: AXIS_WIDTH,
					font: inks.font,
					stroke: inks.soft,
					gap: 4,
					space: 18,
					grid: { stroke: inks.line, width: 1 },
					ticks: { show: false },
					values: (drawn, ticks, _axis, _space, step) =>
						ticks.map((tick) => {
							const top = drawn.valToPos(tick, 'y');
							const cut = top < EDGE || top > drawn.bbox.height / uPlot.pxRatio - EDGE;
							return cut || !measured
								? ''
								: formatNumber(tick, decimalsOf(step), { decimal: ask.decimal });
						}),
				},
			],
			series: [
				{},
				...signals.map(
					(signal): uPlot.Series => ({
						scale: 'y',
						stroke: inks[signal.line],
						width: signal.line === 'feed' ? 1.5 : 2,
						...(signal.line === 'feed' ? { dash: [6, 3] } : {}),
						spanGaps: false,
						...(byHand ? { points: { show: true, size: 6, fill: inks[signal.line] } } : {}),
					}),
				),
			],
			hooks: {
				drawClear: [(drawn) => backdrop(drawn, timeline, panel.id, inks)],
				setCursor: [(drawn) => ask.onCursor(drawn.cursor.idx ?? null)],
				setScale: [
					(drawn, key) => {
						const { min, max } = drawn.scales.x as uPlot.Scale;
						if (key === 'x' && min != null && max != null) {
							ask.onView({ from_s: min, to_s: max });
						}
					},
				],
			},
		},
		undefined,
		host,
	);
	plot.setData(
		[[...traces.time_s], ...signals.map((signal) => [...traces.columns[signal.key]])],
		false,
	);
	plot.setScale('x', { min: ask.full.from_s, max: ask.full.to_s });
	return plot;
}
