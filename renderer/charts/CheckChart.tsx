import 'uplot/dist/uPlot.min.css';
import './checks.css';
import { RotateCcw, UnfoldVertical } from 'lucide-react';
import {
	type KeyboardEvent,
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
import { dateTime } from '../../calc/quantity/time.ts';
import { DENSITY_DRIFT_RULES, FLOW_DRIFT_RULES } from '../../calc/trust/drift.ts';
import type { BypassWindowShown, MeterChecks } from '../../electron/contract/meterchecks.ts';
import { Button } from '../parts/Button.tsx';
import { type CheckPanel, drawCheckPanel } from './checkplots.ts';
import {
	asFlow,
	checkSpan,
	differenceScale,
	lineAtWindow,
	middleOf,
	PAIRS,
	type PairId,
	type PairShown,
	pointsOf,
	REACH,
	signed,
	tally,
	unusableAt,
} from './checktraces.ts';
import { useInks } from './inks.ts';
import { CLOCK_HEIGHT } from './plots.ts';
import type { Span } from './traces.ts';

export interface CheckChartProps {
	readonly checks: MeterChecks;
	/** Entry of the window in hand. */
	readonly chosen: number | null;
	readonly onChoose: (entry: number) => void;
	readonly utcOffset_min: number;
	readonly marks: NumberMarks;
}

const LEGEND_WIDTH = 196;
const LEAST = { difference: 92, residual: 48 } as const;
const SHARE = { difference: 5, residual: 1 } as const;
const KINDS = ['difference', 'residual'] as const;
const GATE: Readonly<Record<PairId, number>> = {
	flow: FLOW_DRIFT_RULES.gate,
	density: DENSITY_DRIFT_RULES.gate,
};
const PANELS = PAIRS.flatMap((pair) =>
	KINDS.map((kind) => ({ pair, kind, key: `${pair.id}-${kind}` })),
);
/** Zoomed in no closer than this, s. */
const CLOSEST_S = 600;

/**
 * Every bypass window over time: what the two flow meters and the two densitometers differ by, the
 * smoothed difference with its band, and beneath each the residuals in standard deviations.
 */
export function CheckChart({ checks, chosen, onChoose, utcOffset_min, marks }: CheckChartProps) {
	const inks = useInks();
	const syncKey = useId();
	const box = useRef<HTMLDivElement>(null);
	const hosts = useRef(new Map<string, HTMLDivElement>());
	const plots = useRef<uPlot[]>([]);
	const [size, setSize] = useState<{ width: number; height: number } | null>(null);
	const { windows } = checks;
	const stops = useMemo(() => windows.map(middleOf), [windows]);
	const full = useMemo(() => checkSpan(checks), [checks]);
	const [view, setView] = useState<Span>(full);
	const [closeUp, setCloseUp] = useState(false);
	const [hovered, setHovered] = useState<number | null>(null);
	const held = useRef({ chosen, onChoose });
	held.current = { chosen, onChoose };

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

	const plotWidth = Math.max(260, (size?.width ?? 0) - LEGEND_WIDTH);
	const heights = useMemo(() => {
		const least = PANELS.reduce((sum, { kind }) => sum + LEAST[kind], 0);
		const shares = PANELS.reduce((sum, { kind }) => sum + SHARE[kind], 0);
		const spare = Math.max(0, (size?.height ?? 0) - CLOCK_HEIGHT - least);
		return PANELS.map(({ kind }, index) => {
			const own = LEAST[kind] + Math.floor((spare * SHARE[kind]) / shares);
			return index === PANELS.length - 1 ? own + CLOCK_HEIGHT : own;
		});
	}, [size?.height]);

	const show = useCallback((span: Span) => {
		for (const plot of plots.current) plot.setScale('x', { min: span.from_s, max: span.to_s });
	}, []);
	const reset = useCallback(() => show(full), [show, full]);

	const sized = size !== null && size.width > 0;
	const drawn = useRef({ width: plotWidth, heights });
	drawn.current = { width: plotWidth, heights };
	useEffect(() => {
		if (!sized) return;
		setHovered(null);
		setView(full);
		plots.current = PANELS.flatMap(({ pair, kind, key }, index) => {
			const host = hosts.current.get(key);
			if (!host) return [];
			const points = pointsOf(windows, pair.id);
			const check = checks[pair.id];
			const base = {
				stops,
				inks,
				marks,
				points,
				width: drawn.current.width,
				height: drawn.current.heights[index] ?? LEAST[kind],
				full,
				utcOffset_min,
				syncKey,
				withClock: index === PANELS.length - 1,
				chosen: () => held.current.chosen,
				onCursor: setHovered,
				onChoose: (entry: number) => held.current.onChoose(entry),
				onView: (span: Span) =>
					setView((old) => (old.from_s === span.from_s && old.to_s === span.to_s ? old : span)),
				onReset: reset,
			};
			const panel: CheckPanel =
				kind === 'difference'
					? {
							...base,
							kind,
							pair,
							check,
							unusable: unusableAt(windows, pair.id),
							scale: differenceScale(points, check, closeUp),
						}
					: { ...base, kind, gate: GATE[pair.id] };
			return drawCheckPanel(host, panel);
		});
		return () => {
			for (const plot of plots.current) plot.destroy();
			plots.current = [];
		};
	}, [sized, checks, windows, stops, closeUp, inks, marks, full, utcOffset_min, syncKey, reset]);

	useEffect(() => {
		plots.current.forEach((plot, index) => {
			const height = heights[index];
			if (height === undefined) return;
			if (plot.width !== plotWidth || plot.height !== height) {
				plot.setSize({ width: plotWidth, height });
			}
		});
	}, [plotWidth, heights]);

	const reach = view.to_s - view.from_s;
	// biome-ignore lint/correctness/useExhaustiveDependencies: only another window in hand moves the view
	useEffect(() => {
		const time_s = chosen === null ? undefined : stops[chosen];
		if (time_s !== undefined && (time_s < view.from_s || time_s > view.to_s)) {
			const from_s = Math.max(full.from_s, Math.min(full.to_s - reach, time_s - reach / 2));
			show({ from_s, to_s: from_s + reach });
		}
		for (const plot of plots.current) plot.redraw(false);
	}, [chosen]);

	const zoomed = view.from_s !== full.from_s || view.to_s !== full.to_s;
	const entry = hovered ?? chosen;
	const zoomAround = (factor: number) => {
		const middle = (entry === null ? undefined : stops[entry]) ?? (view.from_s + view.to_s) / 2;
		const next = Math.min(full.to_s - full.from_s, Math.max(CLOSEST_S, reach * factor));
		const from_s = Math.max(full.from_s, Math.min(full.to_s - next, middle - next / 2));
		show({ from_s, to_s: from_s + next });
	};
	const keys = (event: KeyboardEvent) => {
		if (event.ctrlKey || event.altKey || event.metaKey || stops.length === 0) return;
		const last = stops.length - 1;
		const stride = event.shiftKey ? 10 : 1;
		switch (event.key) {
			case 'ArrowRight':
				onChoose(chosen === null ? 0 : Math.min(last, chosen + stride));
				break;
			case 'ArrowLeft':
				onChoose(chosen === null ? last : Math.max(0, chosen - stride));
				break;
			case 'Home':
				onChoose(0);
				break;
			case 'End':
				onChoose(last);
				break;
			case '+':
				zoomAround(0.5);
				break;
			case '-':
				zoomAround(2);
				break;
			case 'Escape':
				if (!zoomed) return;
				reset();
				break;
			default:
				return;
		}
		event.preventDefault();
		event.stopPropagation();
	};

	const window = entry === null ? undefined : windows[entry];
	return (
		<section className="checks-chart" aria-label="Differences of the meters in bypass">
			<div className="checks-chart-head">
				<h3>What the meters differ by in bypass</h3>
				<span className="checks-chart-says">
					return − feed, certificates applied; bars and band ± 2 u
				</span>
				{zoomed && (
					<Button tone="quiet" icon={RotateCcw} onClick={reset}>
						All windows
					</Button>
				)}
				<Button
					tone="quiet"
					icon={UnfoldVertical}
					aria-pressed={closeUp}
					title="Leave zero and limit out of the scale, so that drift and bars can be seen"
					onClick={() => setCloseUp(!closeUp)}
				>
					Close-up
				</Button>
				<span className="checks-chart-moment">
					{window
						? `${dateTime(Math.round(middleOf(window)), utcOffset_min).slice(0, 16)}  ${window.ring === null ? 'before the first ring' : `ring ${window.ring}`}`
						: ''}
				</span>
			</div>
			{/* biome-ignore lint/a11y/useSemanticElements: a group of drawings with keys of its own, no form fields */}
			<div
				className="checks-chart-body"
				ref={box}
				role="group"
				// biome-ignore lint/a11y/noNoninteractiveTabindex: arrows move from window to window
				tabIndex={0}
				aria-label="Bypass windows over time. Arrow keys go from window to window, plus and minus zoom, Escape shows them all."
				onKeyDown={keys}
			>
				{PANELS.map(({ pair, kind, key }) => (
					<div className="checks-panel" key={key} data-panel={key}>
						<div
							className="checks-plot"
							style={{ width: plotWidth }}
							ref={(host) => {
								if (host) hosts.current.set(key, host);
								else hosts.current.delete(key);
							}}
						/>
						{kind === 'difference' ? (
							<DifferenceLegend checks={checks} pair={pair} window={window} marks={marks} />
						) : (
							<ResidualLegend pair={pair} window={window} marks={marks} />
						)}
					</div>
				))}
			</div>
			<SpokenSummary checks={checks} marks={marks} offset={utcOffset_min} />
		</section>
	);
}

function Line({ name, children }: { readonly name: string; readonly children: ReactNode }) {
	return (
		<div className="checks-legend-line">
			<span>{name}</span>
			<span className="checks-legend-value">{children}</span>
		</div>
	);
}

/** The figures of the window under the crosshair; at rest what became of all windows. */
function DifferenceLegend({
	checks,
	pair,
	window,
	marks,
}: {
	readonly checks: MeterChecks;
	readonly pair: PairShown;
	readonly window: BypassWindowShown | undefined;
	readonly marks: NumberMarks;
}) {
	const seen = window?.[pair.id];
	const title = (
		<div className="checks-legend-title">
			{pair.heading} <span>{pair.id === 'flow' ? '% | m³/h' : pair.unit}</span>
		</div>
	);
	if (!window || !seen) {
		const count = tally(checks.windows, pair.id);
		return (
			<div className="checks-legend" style={{ width: LEGEND_WIDTH }}>
				{title}
				<Legend mark="used" words={`${count.used} in use`} />
				{count.aside > 0 && <Legend mark="outlier" words={`${count.aside} set aside by rule`} />}
				{count.rejected > 0 && <Legend mark="rejected" words={`${count.rejected} rejected`} />}
				{count.unusable > 0 && (
					<Legend mark="unusable" words={`${count.unusable} not comparable`} />
				)}
				{checks[pair.id] && <Legend mark="line" words="smoothed, ± 2 u" />}
			</div>
		);
	}
	const { difference, u, feed } = seen;
	const line = lineAtWindow(window, pair.id);
	return (
		<div className="checks-legend" style={{ width: LEGEND_WIDTH }} data-pair={pair.id}>
			{title}
			{difference === null ? (
				<div className="checks-legend-why">{seen.reason ?? 'not comparable'}</div>
			) : (
				<>
					<Line name="this window">
						{signed(difference, pair.decimals, marks)}
						{u === null ? '' : ` ± ${formatNumber(REACH * u, pair.decimals, marks)}`}
					</Line>
					{pair.id === 'flow' && feed !== null && (
						<Line name="in m³/h">{signed(asFlow(difference, feed), 1, marks)}</Line>
					)}
					{line !== null && <Line name="smoothed">{signed(line, pair.decimals, marks)}</Line>}
				</>
			)}
		</div>
	);
}

function ResidualLegend({
	pair,
	window,
	marks,
}: {
	readonly pair: PairShown;
	readonly window: BypassWindowShown | undefined;
	readonly marks: NumberMarks;
}) {
	const sigmas = window?.[pair.id].standardised ?? null;
	return (
		<div className="checks-legend" style={{ width: LEGEND_WIDTH }}>
			<div className="checks-legend-title">
				Residuals <span>in standard deviations</span>
			</div>
			{window && sigmas !== null ? (
				<Line name="this window">{signed(sigmas, 1, marks)}</Line>
			) : (
				<span className="soft">beyond ± {GATE[pair.id]} it stands apart</span>
			)}
		</div>
	);
}

function Legend({
	mark,
	words,
}: {
	readonly mark: 'used' | 'outlier' | 'rejected' | 'unusable' | 'line';
	readonly words: string;
}) {
	return (
		<div className="checks-legend-mark" data-mark={mark}>
			<svg width="18" height="12" viewBox="0 0 18 12" aria-hidden="true">
				{(mark === 'used' || mark === 'rejected') && <circle cx="9" cy="6" r="3.5" />}
				{mark === 'outlier' && <path d="M5.5 2.5l7 7m0-7l-7 7" />}
				{mark === 'unusable' && <path d="M9 11V5" />}
				{mark === 'line' && (
					<>
						<rect x="0" y="1" width="18" height="10" />
						<path d="M0 6H18" />
					</>
				)}
			</svg>
			<span>{words}</span>
		</div>
	);
}

/** The chart in words, for those who do not see it; the windows one by one are in the table. */
function SpokenSummary({
	checks,
	marks,
	offset,
}: {
	readonly checks: MeterChecks;
	readonly marks: NumberMarks;
	readonly offset: number;
}) {
	return (
		<ul className="out-of-sight">
			{PAIRS.map((pair) => {
				const check = checks[pair.id];
				const count = tally(checks.windows, pair.id);
				const last = check?.line.at(-1);
				return (
					<li key={pair.id}>
						{pair.heading}: {count.used} windows in use, {count.aside} set aside, {count.rejected}{' '}
						rejected, {count.unusable} not comparable.{' '}
						{last &&
							`Smoothed at the end ${signed(last.value, pair.decimals, marks)} ${pair.unit}, u ${formatNumber(last.u, pair.decimals, marks)}. `}
						{check?.steps
							.map(
								(step) =>
									`Step of ${signed(step.size, pair.decimals, marks)} ${pair.unit} after ${dateTime(Math.round(step.after_s), offset)}. `,
							)
							.join('')}
					</li>
				);
			})}
		</ul>
	);
}
