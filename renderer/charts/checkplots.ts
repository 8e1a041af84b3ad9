import uPlot from 'uplot';
import { formatNumber, type NumberMarks } from '../../calc/quantity/format.ts';
import type { PairCheckShown } from '../../electron/contract/meterchecks.ts';
import {
	type CheckPoint,
	MOST_SIGMAS,
	type PairShown,
	REACH,
	signed,
	stretchesOf,
} from './checktraces.ts';
import type { Inks } from './inks.ts';
import { AXIS_WIDTH, CLOCK_HEIGHT } from './plots.ts';
import { clockStep_s, clockTicks, decimalsOf, tickTexts } from './ticks.ts';
import type { Span } from './traces.ts';

/** Width kept for the axis at the right, where a difference in % reads in m³/h. */
export const RIGHT_AXIS = 50;

/** A press that moves less than this is a click. */
const DRAG_PX = 4;

/** What all panels of one drawing share. */
interface PanelBase {
	/** Moments of all windows, ascending: where the crosshair can stand. */
	readonly stops: readonly number[];
	readonly inks: Inks;
	readonly marks: NumberMarks;
	readonly width: number;
	readonly height: number;
	readonly full: Span;
	readonly utcOffset_min: number;
	readonly syncKey: string;
	/** The lowest panel bears the clock. */
	readonly withClock: boolean;
	/** Entry of the window that is chosen, asked at every drawing. */
	readonly chosen: () => number | null;
	readonly onCursor: (entry: number | null) => void;
	readonly onChoose: (entry: number) => void;
	readonly onView: (view: Span) => void;
	readonly onReset: () => void;
}

export interface DifferencePanel extends PanelBase {
	readonly kind: 'difference';
	readonly pair: PairShown;
	readonly points: readonly CheckPoint[];
	/** Moments of windows in which this pair could not be compared. */
	readonly unusable: readonly number[];
	readonly check: PairCheckShown | null;
	readonly scale: { readonly min: number; readonly max: number };
}

export interface ResidualPanel extends PanelBase {
	readonly kind: 'residual';
	readonly points: readonly CheckPoint[];
	/** Standard deviations beyond which a window stands apart. */
	readonly gate: number;
}

export type CheckPanel = DifferencePanel | ResidualPanel;

/** Drawing on the panel's canvas in its own pixels. */
class Pen {
	readonly #plot: uPlot;
	readonly ctx: CanvasRenderingContext2D;
	readonly px = uPlot.pxRatio;
	readonly left: number;
	readonly right: number;
	readonly top: number;
	readonly bottom: number;

	constructor(plot: uPlot) {
		this.#plot = plot;
		this.ctx = plot.ctx;
		const { left, top, width, height } = plot.bbox;
		this.left = left;
		this.right = left + width;
		this.top = top;
		this.bottom = top + height;
	}

	x(time_s: number): number {
		return this.#plot.valToPos(time_s, 'x', true);
	}

	y(value: number): number {
		return this.#plot.valToPos(value, 'y', true);
	}

	/** Across the whole panel at one value. */
	level(value: number, colour: string, dash: readonly number[], width = 1): void {
		const y = Math.round(this.y(value)) + 0.5;
		if (y < this.top || y > this.bottom) return;
		this.line([this.left, y], [this.right, y], colour, dash, width);
	}

	line(
		from: readonly [number, number],
		to: readonly [number, number],
		colour: string,
		dash: readonly number[] = [],
		width = 1,
	): void {
		const { ctx } = this;
		ctx.strokeStyle = colour;
		ctx.lineWidth = width * this.px;
		ctx.setLineDash(dash.map((part) => part * this.px));
		ctx.beginPath();
		ctx.moveTo(...from);
		ctx.lineTo(...to);
		ctx.stroke();
		ctx.setLineDash([]);
	}

	/** Words on a plate of the ground's colour, kept inside the panel. */
	words(text: string, x: number, y: number, inks: Inks, colour: string, right: boolean): void {
		const { ctx, px } = this;
		const [size] = inks.font.split(' ');
		ctx.font = inks.font.replace(size as string, `${11 * px}px`);
		ctx.textAlign = right ? 'right' : 'left';
		ctx.textBaseline = 'top';
		const { width } = ctx.measureText(text);
		const height = 13 * px;
		const top = Math.max(this.top + px, Math.min(this.bottom - height - px, y));
		ctx.globalAlpha = 0.85;
		ctx.fillStyle = inks.surface;
		ctx.fillRect(right ? x - width - 2 * px : x - 2 * px, top, width + 4 * px, height);
		ctx.globalAlpha = 1;
		ctx.fillStyle = colour;
		ctx.fillText(text, x, top + px);
	}

	clipped(draw: () => void): void {
		const { ctx } = this;
		ctx.save();
		ctx.beginPath();
		ctx.rect(this.left, this.top, this.right - this.left, this.bottom - this.top);
		ctx.clip();
		draw();
		ctx.restore();
	}
}

const RADIUS = 3.5;
/** Where windows stand closer than this, px, their marks are drawn smaller. */
const CROWDED_PX = 7;
const CROWDED_RADIUS = 2;

/** Size of the marks that lets neighbours be told apart, over the stretch of time shown. */
function radiusFor(plot: uPlot, points: readonly CheckPoint[]): number {
	const { min, max } = plot.scales.x as uPlot.Scale;
	if (min == null || max == null) return RADIUS;
	const inView = points.filter(({ time_s }) => time_s >= min && time_s <= max).length;
	return plot.bbox.width / uPlot.pxRatio < CROWDED_PX * inView ? CROWDED_RADIUS : RADIUS;
}

/** One window: filled when in use, hollow when a person rejected it, a cross when the rule set it aside. */
function drawMark(
	pen: Pen,
	point: CheckPoint,
	x: number,
	y: number,
	radius: number,
	inks: Inks,
): void {
	const { ctx, px } = pen;
	const r = radius * px;
	ctx.lineWidth = 1.5 * px;
	if (point.mark === 'outlier') {
		pen.line([x - r, y - r], [x + r, y + r], inks.note, [], 2);
		pen.line([x - r, y + r], [x + r, y - r], inks.note, [], 2);
		return;
	}
	ctx.beginPath();
	if (point.mark === 'pending') {
		ctx.moveTo(x, y - 1.4 * r);
		ctx.lineTo(x + 1.4 * r, y);
		ctx.lineTo(x, y + 1.4 * r);
		ctx.lineTo(x - 1.4 * r, y);
		ctx.closePath();
	} else ctx.arc(x, y, r, 0, 2 * Math.PI);
	const filled = point.mark === 'used' || point.mark === 'accepted';
	ctx.fillStyle = filled ? inks.ink : inks.surface;
	ctx.strokeStyle = point.mark === 'rejected' ? inks.soft : inks.ink;
	ctx.fill();
	ctx.stroke();
	if (point.mark !== 'accepted') return;
	ctx.beginPath();
	ctx.arc(x, y, r + 2.5 * px, 0, 2 * Math.PI);
	ctx.stroke();
}

/** Beyond the scale: an arrow at the edge that it left by. */
function drawBeyond(pen: Pen, x: number, above: boolean, colour: string): void {
	const { ctx, px } = pen;
	const tip = above ? pen.top + 2 * px : pen.bottom - 2 * px;
	const foot = tip + (above ? 7 : -7) * px;
	ctx.fillStyle = colour;
	ctx.beginPath();
	ctx.moveTo(x, tip);
	ctx.lineTo(x + 4 * px, foot);
	ctx.lineTo(x - 4 * px, foot);
	ctx.closePath();
	ctx.fill();
}

function drawChosen(pen: Pen, points: readonly CheckPoint[], ask: CheckPanel): void {
	const entry = ask.chosen();
	const time_s = entry === null ? undefined : ask.stops[entry];
	if (time_s === undefined) return;
	const x = Math.round(pen.x(time_s)) + 0.5;
	pen.line([x, pen.top], [x, pen.bottom], ask.inks.accent, [], 1.5);
	const point = points.find((one) => one.entry === entry);
	if (!point) return;
	const y = pen.y(ask.kind === 'difference' ? point.value : shownSigmas(point.sigmas ?? 0));
	pen.ctx.strokeStyle = ask.inks.accent;
	pen.ctx.lineWidth = 2 * pen.px;
	pen.ctx.beginPath();
	pen.ctx.arc(x, y, 8 * pen.px, 0, 2 * Math.PI);
	pen.ctx.stroke();
}

function drawBand(pen: Pen, check: PairCheckShown, inks: Inks): void {
	const { ctx } = pen;
	for (const stretch of stretchesOf(check.line)) {
		ctx.fillStyle = inks.accent;
		ctx.globalAlpha = 0.18;
		ctx.beginPath();
		for (const { time_s, value, u } of stretch) ctx.lineTo(pen.x(time_s), pen.y(value + REACH * u));
		for (const { time_s, value, u } of [...stretch].reverse()) {
			ctx.lineTo(pen.x(time_s), pen.y(value - REACH * u));
		}
		ctx.closePath();
		ctx.fill();
		ctx.globalAlpha = 1;
	}
}

/** Over the marks, so that many windows do not hide it. */
function drawLine(pen: Pen, check: PairCheckShown, inks: Inks): void {
	const { ctx } = pen;
	for (const stretch of stretchesOf(check.line)) {
		ctx.strokeStyle = inks.accent;
		ctx.lineWidth = 2 * pen.px;
		ctx.beginPath();
		for (const { time_s, value } of stretch) ctx.lineTo(pen.x(time_s), pen.y(value));
		ctx.stroke();
	}
}

function drawSteps(pen: Pen, check: PairCheckShown, ask: DifferencePanel): void {
	const { ctx } = pen;
	const { inks } = ask;
	for (const step of check.steps) {
		const from = pen.x(step.at_s ?? step.after_s);
		const to = pen.x(step.at_s ?? step.before_s);
		if (to > from) {
			ctx.fillStyle = inks.note;
			ctx.globalAlpha = 0.2;
			ctx.fillRect(from, pen.top, to - from, pen.bottom - pen.top);
			ctx.globalAlpha = 1;
		}
		for (const x of new Set([from, to])) {
			pen.line([x, pen.top], [x, pen.bottom], inks.note, [4, 2], 1.5);
		}
	}
}

/** What steps and limits are, over everything else. */
function drawWords(pen: Pen, check: PairCheckShown, ask: DifferencePanel): void {
	const { px } = pen;
	const { inks, pair, marks, scale } = ask;
	for (const step of check.steps) {
		const from = pen.x(step.at_s ?? step.after_s);
		const to = pen.x(step.at_s ?? step.before_s);
		const right = (from + to) / 2 > (pen.left + pen.right) / 2;
		pen.words(
			`step ${signed(step.size, pair.decimals, marks)}`,
			right ? from - 5 * px : to + 5 * px,
			pen.bottom - 20 * px,
			inks,
			inks.note,
			right,
		);
	}
	for (const value of limitsOf(check, scale)) {
		pen.words(
			`limit ${signed(value, pair.decimals, marks)}`,
			pen.right - 4 * px,
			pen.y(value) - 15 * px,
			inks,
			inks.stop,
			true,
		);
	}
}

/** The limit of the papers on either side, as far as the scale shows it. */
function limitsOf(check: PairCheckShown, scale: DifferencePanel['scale']): number[] {
	const { limit } = check;
	if (limit === null) return [];
	return [limit, -limit].filter((value) => value <= scale.max && value >= scale.min);
}

function drawDifference(plot: uPlot, ask: DifferencePanel): void {
	const pen = new Pen(plot);
	const { inks, points, check, scale } = ask;
	const radius = radiusFor(plot, points);
	pen.clipped(() => {
		pen.level(0, inks.soft, [], 1);
		if (check) {
			drawBand(pen, check, inks);
			drawSteps(pen, check, ask);
			for (const value of limitsOf(check, scale)) pen.level(value, inks.stop, [8, 4], 1.5);
		}
		for (const time_s of ask.unusable) {
			const x = pen.x(time_s);
			pen.line([x, pen.bottom], [x, pen.bottom - 6 * pen.px], inks.soft, [], 1.5);
		}
		for (const point of points) {
			const x = pen.x(point.time_s);
			if (x < pen.left - 8 || x > pen.right + 8) continue;
			const { value, u } = point;
			const aside = point.mark === 'rejected' || point.mark === 'outlier';
			const colour = point.mark === 'outlier' ? inks.note : aside ? inks.soft : inks.ink;
			if (value > scale.max || value < scale.min) {
				drawBeyond(pen, x, value > scale.max, colour);
				continue;
			}
			if (u !== null && u > 0) {
				const reach = REACH * u;
				pen.line([x, pen.y(value - reach)], [x, pen.y(value + reach)], colour, [], 1);
			}
			drawMark(pen, point, x, pen.y(value), radius, inks);
		}
		if (check) {
			drawLine(pen, check, inks);
			drawWords(pen, check, ask);
		}
		drawChosen(pen, points, ask);
	});
}

const shownSigmas = (sigmas: number): number =>
	Math.max(-MOST_SIGMAS, Math.min(MOST_SIGMAS, sigmas));

function drawResiduals(plot: uPlot, ask: ResidualPanel): void {
	const pen = new Pen(plot);
	const { inks } = ask;
	const radius = radiusFor(plot, ask.points);
	pen.clipped(() => {
		pen.level(0, inks.soft, [], 1);
		for (const value of [ask.gate, -ask.gate]) pen.level(value, inks.note, [4, 3], 1);
		for (const point of ask.points) {
			if (point.sigmas === null) continue;
			const x = pen.x(point.time_s);
			if (x < pen.left - 8 || x > pen.right + 8) continue;
			if (Math.abs(point.sigmas) > MOST_SIGMAS) {
				drawBeyond(pen, x, point.sigmas > 0, inks.note);
				continue;
			}
			const y = pen.y(point.sigmas);
			pen.line([x, pen.y(0)], [x, y], inks.soft, [], 1);
			drawMark(pen, point, x, y, radius, inks);
		}
		drawChosen(pen, ask.points, ask);
	});
}

/** Draw one panel into `host`. The caller destroys it. */
export function drawCheckPanel(host: HTMLElement, ask: CheckPanel): uPlot {
	const { inks, marks, stops } = ask;
	const range: uPlot.Range.MinMax =
		ask.kind === 'difference'
			? [ask.scale.min, ask.scale.max]
			: [-MOST_SIGMAS - 0.8, MOST_SIGMAS + 0.8];
	const reference = ask.kind === 'difference' && ask.pair.id === 'flow' ? ask.check?.reference : 0;
	const most = (drawn: uPlot) => Math.max(2, Math.floor(drawn.bbox.width / uPlot.pxRatio / 88));
	const text = (value: number, step: number) =>
		`${value < 0 ? '−' : ''}${formatNumber(Math.abs(value), decimalsOf(step), marks)}`;
	const plot = new uPlot(
		{
			width: ask.width,
			height: ask.height,
			padding: [5, 0, ask.withClock ? 0 : 5, 0],
			legend: { show: false },
			cursor: {
				drag: { x: true, y: false, setScale: true, dist: DRAG_PX },
				sync: { key: ask.syncKey, scales: ['x', null] },
				points: { show: false },
				// The crosshair stands on a window: between two of them there is nothing to read.
				move: (drawn, left, top) => {
					if (left < 0) return [left, top];
					const stop = drawn.data[0][drawn.posToIdx(left)];
					return [stop === undefined ? left : drawn.valToPos(stop, 'x'), top];
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
				y: { auto: false, range: () => range },
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
					splits: (drawn, _axis, min, max) =>
						clockTicks(min, max, clockStep_s(max - min, most(drawn)), ask.utcOffset_min),
					values: (drawn, ticks) => {
						const { min, max } = drawn.scales.x as uPlot.Scale;
						const step = clockStep_s((max as number) - (min as number), most(drawn));
						return tickTexts(ticks, step, ask.utcOffset_min);
					},
				},
				{
					size: AXIS_WIDTH,
					font: inks.font,
					stroke: inks.soft,
					gap: 4,
					space: 20,
					grid: { show: ask.kind === 'difference', stroke: inks.line, width: 1 },
					ticks: { show: false },
					...(ask.kind === 'residual' ? { splits: () => [-ask.gate, 0, ask.gate] } : {}),
					values: (_drawn, ticks, _axis, _space, step) =>
						ticks.map((tick) => text(tick, ask.kind === 'residual' ? 1 : step)),
				},
				{
					side: 1,
					scale: 'y',
					size: RIGHT_AXIS,
					font: inks.font,
					stroke: inks.soft,
					gap: 4,
					space: 20,
					grid: { show: false },
					ticks: { show: false },
					values: (_drawn, ticks) =>
						ticks.map((tick) => (reference ? text((tick / 100) * reference, 0.1) : '')),
				},
			],
			series: [{}, { scale: 'y', show: true, paths: () => null, points: { show: false } }],
			hooks: {
				draw: [
					(drawn) =>
						ask.kind === 'difference' ? drawDifference(drawn, ask) : drawResiduals(drawn, ask),
				],
				setCursor: [(drawn) => ask.onCursor(drawn.cursor.idx ?? null)],
				setScale: [
					(drawn, key) => {
						const { min, max } = drawn.scales.x as uPlot.Scale;
						if (key === 'x' && min != null && max != null) ask.onView({ from_s: min, to_s: max });
					},
				],
			},
		},
		undefined,
		host,
	);
	// The library takes a click for a drag, since the crosshair has moved away from the mouse.
	let downAt = Number.NaN;
	plot.over.addEventListener('pointerdown', (event) => {
		downAt = event.clientX;
	});
	plot.over.addEventListener('pointerup', (event) => {
		const entry = plot.cursor.idx;
		const still = event.button === 0 && Math.abs(event.clientX - downAt) < DRAG_PX;
		if (still && entry !== null && entry !== undefined) ask.onChoose(entry);
	});
	plot.setData([[...stops], stops.map(() => 0)], false);
	plot.setScale('x', { min: ask.full.from_s, max: ask.full.to_s });
	return plot;
}
