import 'uplot/dist/uPlot.min.css';
import './timeline.css';
import { ListChecks, RotateCcw, SquarePen } from 'lucide-react';
import {
	type KeyboardEvent,
	type PointerEvent,
	type ReactNode,
	useCallback,
	useEffect,
	useId,
	useLayoutEffect,
	useMemo,
	useRef,
	useState,
} from 'react';
import type uPlot from 'uplot';
import { formatNumber, type NumberMarks } from '../../calc/quantity/format.ts';
import { clockTime, dateTime } from '../../calc/quantity/time.ts';
import type { Timeline } from '../../electron/contract/verbs.ts';
import { Button } from '../parts/Button.tsx';
import { decidedWords, MODE_WORDS, stretchAt } from './bands.ts';
import { faultCount, faultName, lanesFor } from './faultstrip.ts';
import { useInks } from './inks.ts';
import { AXIS_WIDTH, CLOCK_HEIGHT, drawPanel, RIGHT_EDGE } from './plots.ts';
import { between, pieceAround, snapped } from './selection.ts';
import { LANE_HEIGHT, TimelineBand } from './TimelineBand.tsx';
import { durationText } from './ticks.ts';
import {
	fullSpan,
	nearest,
	PANELS,
	panelsShown,
	type Signal,
	type SignalSummary,
	type Span,
	summarise,
	tracesOf,
} from './traces.ts';

export interface TimelineChartProps {
	readonly timeline: Timeline;
	/** Minutes east of UTC the drive shows its times in. */
	readonly utcOffset_min: number;
	readonly decimal: '.' | ',';
	/** Stretch in hand, to have its mode set; null: none. */
	readonly chosen: Span | null;
	/** Modes may be set: a stretch can be chosen. */
	readonly sets: boolean;
	/** Modes set by hand that reach into what is shown. */
	readonly setModes: number;
	readonly onChoose: (stretch: Span | null) => void;
	/** The mode of the stretch in hand is to be set. */
	readonly onSet: (stretch: Span) => void;
	readonly onRecord: () => void;
	/** Between the head and the drawing. */
	readonly children?: ReactNode;
}

const LEGEND_WIDTH = 164;
const BAND_HEIGHT = 60;
/** Less movement of the pointer is a click, px. */
const DRAG_LEAST = 4;
const SOURCE_WORDS: Readonly<Record<Timeline['source'], string>> = {
	logger: 'from the logger',
	readings: 'from shift readings',
	none: 'no samples',
};

const unitOf = (signal: Signal): string =>
	PANELS.find((panel) => panel.id === signal.panel)?.unit ?? '';
const nameOf = (signal: Signal): string =>
	signal.panel === 'level' ? 'Chamber level' : `${signal.heading} ${signal.panel}`;

/** One ring's timeline: mode band, the ring's windows, and panels of flow, density and level on one clock. */
export function TimelineChart({
	timeline,
	utcOffset_min,
	decimal,
	chosen,
	sets,
	setModes,
	onChoose,
	onSet,
	onRecord,
	children,
}: TimelineChartProps) {
	const inks = useInks();
	const syncKey = useId();
	const box = useRef<HTMLDivElement>(null);
	const hosts = useRef(new Map<string, HTMLDivElement>());
	const plots = useRef<uPlot[]>([]);
	const [size, setSize] = useState<{ width: number; height: number } | null>(null);
	const full = useMemo(() => fullSpan(timeline), [timeline]);
	const traces = useMemo(() => tracesOf(timeline), [timeline]);
	const panels = useMemo(() => panelsShown(timeline), [timeline]);
	const summaries = useMemo(() => summarise(timeline), [timeline]);
	const [view, setView] = useState<Span>(full);
	const [entry, setEntry] = useState<number | null>(null);
	const faults = timeline.signalFaults ?? [];
	/** Where a stretch in hand begins, s; it ends at the crosshair or the pointer. */
	const anchor = useRef<number | null>(null);
	const marks = useMemo((): NumberMarks => ({ decimal, group: '\u202f' }), [decimal]);

	useLayoutEffect(() => {
		const element = box.current;
		if (!element) return;
		const measure = () => {
			const next = { width: element.clientWidth, height: element.clientHeight };
			setSize((old) => (old?.width === next.width && old.height === next.height ? old : next));
		};
		measure();
		const watch = new ResizeObserver(measure);
		watch.observe(element);
		return () => watch.disconnect();
	}, []);

	const plotWidth = Math.max(200, (size?.width ?? 0) - LEGEND_WIDTH);
	const inner = plotWidth - AXIS_WIDTH - RIGHT_EDGE;
	const lanes = lanesFor(faults);
	const bandHeight = BAND_HEIGHT + lanes * LANE_HEIGHT;
	const heights = useMemo(() => {
		const least = panels.reduce((sum, panel) => sum + panel.least, 0);
		const shares = panels.reduce((sum, panel) => sum + panel.share, 0);
		const spare = Math.max(0, (size?.height ?? 0) - bandHeight - CLOCK_HEIGHT - least);
		return panels.map((panel, index) => {
			const own = panel.least + Math.floor((spare * panel.share) / shares);
			return index === panels.length - 1 ? own + CLOCK_HEIGHT : own;
		});
	}, [size?.height, panels, bandHeight]);

	const show = useCallback((span: Span) => {
		for (const plot of plots.current) plot.setScale('x', { min: span.from_s, max: span.to_s });
	}, []);
	const reset = useCallback(() => show(full), [show, full]);

	const sized = size !== null && size.width > 0;
	const drawn = useRef({ width: plotWidth, heights });
	drawn.current = { width: plotWidth, heights };
	useEffect(() => {
		if (!sized) return;
		setEntry(null);
		plots.current = panels.flatMap((panel, index) => {
			const host = hosts.current.get(panel.id);
			if (!host) return [];
			return drawPanel(host, {
				panel,
				timeline,
				traces,
				inks,
				width: drawn.current.width,
				height: drawn.current.heights[index] ?? panel.least,
				full,
				utcOffset_min,
				decimal,
				syncKey,
				withClock: index === panels.length - 1,
				onCursor: setEntry,
				onView: (span) =>
					setView((old) => (old.from_s === span.from_s && old.to_s === span.to_s ? old : span)),
				onReset: reset,
			});
		});
		return () => {
			for (const plot of plots.current) plot.destroy();
			plots.current = [];
		};
	}, [sized, panels, timeline, traces, inks, full, utcOffset_min, decimal, syncKey, reset]);

	useEffect(() => {
		plots.current.forEach((plot, index) => {
			const height = heights[index];
			if (height === undefined) return;
			if (plot.width !== plotWidth || plot.height !== height) {
				plot.setSize({ width: plotWidth, height });
			}
		});
	}, [plotWidth, heights]);

	const at_s = entry === null ? null : (traces.time_s[entry] ?? null);
	const reach = view.to_s - view.from_s;
	const cursorLeft =
		at_s === null || at_s < view.from_s || at_s > view.to_s || !(reach > 0)
			? null
			: ((at_s - view.from_s) / reach) * inner;
	const zoomed = view.from_s !== full.from_s || view.to_s !== full.to_s;

	const putCursor = (next: number) => {
		const time_s = traces.time_s[next];
		if (time_s === undefined) return;
		if (time_s < view.from_s || time_s > view.to_s) {
			const from_s = Math.max(full.from_s, Math.min(full.to_s - reach, time_s - reach / 2));
			show({ from_s, to_s: from_s + reach });
		}
		for (const plot of plots.current) {
			plot.setCursor({ left: plot.valToPos(time_s, 'x'), top: 1 }, false);
		}
		setEntry(next);
		if (anchor.current !== null) onChoose(between(anchor.current, time_s));
	};
	const inHand = (): Span =>
		chosen ?? (at_s === null ? null : pieceAround(timeline.modes, at_s)) ?? timeline.advanceWindow;
	const set = () => onSet(inHand());
	const letGo = () => {
		anchor.current = null;
		onChoose(null);
	};
	const pointedAt = (event: PointerEvent) => {
		const left = event.clientX - event.currentTarget.getBoundingClientRect().left - AXIS_WIDTH;
		const time_s = view.from_s + (Math.max(0, Math.min(inner, left)) / inner) * reach;
		return { left, time_s, edge_s: snapped(timeline, time_s, inner / reach) };
	};
	const pressed = useRef<{ left: number; edge_s: number; drags: boolean } | null>(null);
	const press = (event: PointerEvent) => {
		if (!sets || event.button !== 0) return;
		const { left, edge_s } = pointedAt(event);
		pressed.current = { left, edge_s, drags: false };
		event.currentTarget.setPointerCapture(event.pointerId);
	};
	const drag = (event: PointerEvent) => {
		const start = pressed.current;
		if (!start) return;
		const { left, edge_s } = pointedAt(event);
		if (Math.abs(left - start.left) > DRAG_LEAST) start.drags = true;
		if (start.drags) onChoose(between(start.edge_s, edge_s));
	};
	const release = (event: PointerEvent) => {
		const start = pressed.current;
		pressed.current = null;
		if (!start) return;
		anchor.current = null;
		const { time_s, edge_s } = pointedAt(event);
		const stretch = start.drags
			? between(start.edge_s, edge_s)
			: pieceAround(timeline.modes, time_s);
		onChoose(stretch);
		if (stretch) onSet(stretch);
	};
	const zoomAround = (factor: number) => {
		const middle = at_s ?? (view.from_s + view.to_s) / 2;
		const next = Math.min(full.to_s - full.from_s, Math.max(10, reach * factor));
		const from_s = Math.max(full.from_s, Math.min(full.to_s - next, middle - next / 2));
		show({ from_s, to_s: from_s + next });
	};
	const keys = (event: KeyboardEvent) => {
		if (event.ctrlKey || event.altKey || event.metaKey || traces.time_s.length === 0) return;
		const last = traces.time_s.length - 1;
		const here = entry ?? nearest(traces.time_s, view.from_s);
		const stride = event.shiftKey ? 10 : 1;
		switch (event.key) {
			case 'ArrowRight':
				putCursor(Math.min(last, entry === null ? here : here + stride));
				break;
			case 'ArrowLeft':
				putCursor(Math.max(0, here - stride));
				break;
			case 'Home':
				putCursor(0);
				break;
			case 'End':
				putCursor(last);
				break;
			case '+':
				zoomAround(0.5);
				break;
			case '-':
				zoomAround(2);
				break;
			case ' ': {
				if (!sets) return;
				const time_s = traces.time_s[here] as number;
				putCursor(here);
				anchor.current = time_s;
				onChoose(null);
				break;
			}
			case 'Enter':
				if (!sets) return;
				set();
				break;
			case 'Escape':
				if (chosen || anchor.current !== null) letGo();
				else if (zoomed) reset();
				else return;
				break;
			default:
				return;
		}
		event.preventDefault();
		event.stopPropagation();
	};

	const valueText = (signal: Signal): string => {
		const value = entry === null ? null : (traces.columns[signal.key][entry] ?? null);
		return value === null ? '—' : formatNumber(value, signal.decimals, marks);
	};
	const held = at_s === null ? undefined : stretchAt(timeline.modes, at_s);
	const mode = held?.mode;
	const modeWord = held === undefined ? '' : MODE_WORDS[held.mode ?? 'none'];
	const wrong =
		at_s === null ? [] : faults.filter(({ from_s, to_s }) => from_s <= at_s && at_s <= to_s);

	return (
		<div className="timeline">
			<div className="timeline-head">
				<h3>Ring {timeline.ring} on the clock</h3>
				<span className="timeline-source">
					{dateTime(timeline.advanceWindow.from_s, utcOffset_min).slice(0, 10)},{' '}
					{SOURCE_WORDS[timeline.source]}
					{timeline.thinned && ', drawn by least and greatest value of each stretch'}
					{timeline.lag_s !== null && `; lag at the end ${durationText(timeline.lag_s)}`}
				</span>
				<span
					className="timeline-moment"
					data-mode={mode ?? undefined}
					title={held === undefined ? undefined : decidedWords(held)}
				>
					{at_s !== null && `${clockTime(Math.round(at_s), utcOffset_min)}  ${modeWord}`}
				</span>
				{(faults.length > 0 || setModes > 0) && (
					<Button tone="quiet" icon={ListChecks} onClick={onRecord}>
						{[
							faults.length > 0 ? faultCount(faults) : '',
							setModes > 0 ? `${setModes} set ${setModes === 1 ? 'mode' : 'modes'}` : '',
						]
							.filter(Boolean)
							.join(', ')}
					</Button>
				)}
				{sets && (
					<Button
						tone="quiet"
						icon={SquarePen}
						onClick={set}
						title="Drag over the mode band, or Space and arrows, to choose the stretch; Enter"
					>
						Set mode…
					</Button>
				)}
				<Button tone="quiet" icon={RotateCcw} onClick={reset} disabled={!zoomed}>
					Whole ring
				</Button>
			</div>
			{children}
			{/* biome-ignore lint/a11y/useSemanticElements: a group of drawings with keys of its own, no form fields */}
			<div
				className="timeline-body"
				ref={box}
				role="group"
				// biome-ignore lint/a11y/noNoninteractiveTabindex: arrows move the crosshair
				tabIndex={0}
				aria-label={`Timeline of ring ${timeline.ring}. Arrow keys move the crosshair, plus and minus zoom, Escape shows the whole ring.${sets ? ' Space begins a stretch at the crosshair, Enter sets the mode of the stretch.' : ''}`}
				onKeyDown={keys}
			>
				<div
					className="timeline-band-row"
					style={{ paddingLeft: AXIS_WIDTH, height: bandHeight, width: plotWidth }}
					data-selects={sets ? '' : undefined}
					onPointerDown={press}
					onPointerMove={drag}
					onPointerUp={release}
				>
					{sized && (
						<TimelineBand
							timeline={timeline}
							view={view}
							width={inner}
							cursorLeft={cursorLeft}
							utcOffset_min={utcOffset_min}
							chosen={chosen}
							lanes={lanes}
						/>
					)}
				</div>
				{panels.map((panel) => (
					<div className="timeline-panel" key={panel.id}>
						<div
							className="timeline-plot"
							style={{ width: plotWidth }}
							ref={(host) => {
								if (host) hosts.current.set(panel.id, host);
								else hosts.current.delete(panel.id);
							}}
						/>
						<PanelLegend
							title={panel.heading}
							unit={panel.unit}
							summaries={summaries.filter((summary) => summary.signal.panel === panel.id)}
							marks={marks}
							valueText={entry === null ? null : valueText}
						/>
					</div>
				))}
			</div>
			<div className="out-of-sight" aria-live="polite">
				{at_s !== null &&
					`${clockTime(Math.round(at_s), utcOffset_min)} ${[modeWord, held ? decidedWords(held) : '', ...wrong.map(faultName)].filter(Boolean).join('; ')}: ${summaries
						.filter(({ count }) => count > 0)
						.map(({ signal }) => `${nameOf(signal)} ${valueText(signal)} ${unitOf(signal)}`)
						.join(', ')}`}
			</div>
			<SpokenTable timeline={timeline} summaries={summaries} marks={marks} offset={utcOffset_min} />
		</div>
	);
}

function PanelLegend({
	title,
	unit,
	summaries,
	marks,
	valueText,
}: {
	readonly title: string;
	readonly unit: string;
	readonly summaries: readonly SignalSummary[];
	readonly marks: NumberMarks;
	/** null: no crosshair; the range of the ring is shown instead. */
	readonly valueText: ((signal: Signal) => string) | null;
}) {
	return (
		<div className="timeline-legend" style={{ width: LEGEND_WIDTH }}>
			{summaries.length > 1 && (
				<div className="timeline-legend-title">
					{title} <span>{unit}</span>
				</div>
			)}
			{summaries.map(({ signal, min, max }) => (
				<div className="timeline-legend-line" key={signal.key}>
					<svg width="22" height="8" aria-hidden="true">
						<path className="timeline-sample" data-line={signal.line} d="M0 4H22" />
					</svg>
					{summaries.length > 1 ? (
						<span>{signal.heading}</span>
					) : (
						<span className="timeline-legend-title">
							{signal.heading} <span>{unit}</span>
						</span>
					)}
					<span
						className="timeline-legend-value"
						data-key={signal.key}
						title={valueText === null ? 'least … greatest' : undefined}
					>
						{min === null || max === null
							? 'not measured'
							: valueText !== null
								? valueText(signal)
								: `${formatNumber(min, signal.decimals, marks)} … ${formatNumber(max, signal.decimals, marks)}`}
					</span>
				</div>
			))}
		</div>
	);
}

function SpokenTable({
	timeline,
	summaries,
	marks,
	offset,
}: {
	readonly timeline: Timeline;
	readonly summaries: readonly SignalSummary[];
	readonly marks: NumberMarks;
	readonly offset: number;
}): ReactNode {
	const windows = [
		['Ring cut', timeline.advanceWindow],
		['Seen by the feed meters', timeline.feedWindow],
		['Seen by the return meters', timeline.returnWindow],
	] as const;
	return (
		<div className="out-of-sight">
			<table>
				<caption>What the timeline of ring {timeline.ring} holds</caption>
				<thead>
					<tr>
						<th scope="col">Signal</th>
						<th scope="col">Points</th>
						<th scope="col">Missing</th>
						<th scope="col">Least</th>
						<th scope="col">Greatest</th>
					</tr>
				</thead>
				<tbody>
					{summaries.map(({ signal, count, missing, min, max }) => (
						<tr key={signal.key}>
							<th scope="row">
								{nameOf(signal)}, {unitOf(signal)}
							</th>
							<td>{count}</td>
							<td>{missing}</td>
							<td>{min === null ? 'none' : formatNumber(min, signal.decimals, marks)}</td>
							<td>{max === null ? 'none' : formatNumber(max, signal.decimals, marks)}</td>
						</tr>
					))}
				</tbody>
			</table>
			<ul>
				{windows.map(([words, span]) => (
					<li key={words}>
						{words}:{' '}
						{span === null
							? 'cannot be told'
							: `${dateTime(Math.round(span.from_s), offset)} to ${dateTime(Math.round(span.to_s), offset)}`}
					</li>
				))}
				{(timeline.signalFaults ?? []).map((fault) => (
					<li key={`${fault.kind} ${fault.signal} ${fault.from_s}`}>
						{faultName(fault)}: {dateTime(Math.round(fault.from_s), offset)} to{' '}
						{dateTime(Math.round(fault.to_s), offset)}, {fault.rule}
					</li>
				))}
			</ul>
		</div>
	);
}
