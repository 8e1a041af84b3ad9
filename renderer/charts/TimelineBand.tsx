import { clockTime } from '../../calc/quantity/time.ts';
import type { Timeline } from '../../electron/contract/verbs.ts';
import { bandPieces, decidedWords, MODE_WORDS, placeOnStrip } from './bands.ts';
import { faultName, faultPieces } from './faultstrip.ts';
import { durationText } from './ticks.ts';
import type { Span } from './traces.ts';

const PX_PER_LETTER = 6.6;
const MODE_HEIGHT = 20;
const WINDOW_HEIGHT = 13;
export const LANE_HEIGHT = 13;

export interface TimelineBandProps {
	readonly timeline: Timeline;
	readonly view: Span;
	/** Width of the plotting area, px. */
	readonly width: number;
	/** Where the crosshair stands, px from the left of the plotting area; null when it is away. */
	readonly cursorLeft: number | null;
	readonly utcOffset_min: number;
	/** Stretch in hand; null: none. */
	readonly chosen: Span | null;
	/** Lanes kept for signal faults. */
	readonly lanes: number;
}

/** The ring's windows: when it was cut, and the same ring as the feed and the return meters see it. */
function windowsOf(timeline: Timeline) {
	return [
		{ key: 'feed', words: 'seen by the feed meters', span: timeline.feedWindow },
		{ key: 'advance', words: `ring ${timeline.ring} cut`, span: timeline.advanceWindow },
		{ key: 'return', words: 'seen by the return meters', span: timeline.returnWindow },
	] as const;
}

/** Mode band and window brackets above the panels, on the panels' own time axis. */
export function TimelineBand({
	timeline,
	view,
	width,
	cursorLeft,
	utcOffset_min,
	chosen,
	lanes,
}: TimelineBandProps) {
	const clock = (time_s: number) => clockTime(Math.round(time_s), utcOffset_min);
	const span = ({ from_s, to_s }: Span) =>
		from_s === to_s
			? clock(from_s)
			: `${clock(from_s)} – ${clock(to_s)}, ${durationText(to_s - from_s)}`;
	const windows = windowsOf(timeline).filter((window) => window.span !== null);
	const faultTop = MODE_HEIGHT + 1 + windows.length * WINDOW_HEIGHT;
	const height = faultTop + lanes * LANE_HEIGHT;
	const chosenStrip = chosen && placeOnStrip(chosen, view, width);
	const faults = lanes === 0 ? [] : (timeline.signalFaults ?? []);
	return (
		<svg
			className="timeline-band"
			width={width}
			height={height}
			viewBox={`0 0 ${width} ${height}`}
			role="img"
			aria-label="Modes of the circuit, windows of the ring and faults of signals"
		>
			<defs>
				<pattern id="band-bypass" width="8" height="8" patternUnits="userSpaceOnUse">
					<path className="band-hatch" d="M0 4h8" />
				</pattern>
				<pattern
					id="band-back_flush"
					width="8"
					height="8"
					patternUnits="userSpaceOnUse"
					patternTransform="rotate(45)"
				>
					<path className="band-hatch" d="M0 4h8" />
				</pattern>
				<pattern id="band-stop" width="6" height="6" patternUnits="userSpaceOnUse">
					<circle className="band-dot" cx="3" cy="3" r="1" />
				</pattern>
			</defs>
			{bandPieces(timeline.modes, view, width, PX_PER_LETTER).map((piece) => (
				<g
					key={piece.from_s}
					className="band-piece"
					data-mode={piece.mode ?? 'none'}
					data-decided={piece.decidedBy}
				>
					<title>
						{[`${MODE_WORDS[piece.mode ?? 'none']} ${span(piece)}`, decidedWords(piece)]
							.filter(Boolean)
							.join('; ')}
					</title>
					<rect
						className="band-ground"
						x={piece.left}
						y={0}
						width={piece.width}
						height={MODE_HEIGHT}
					/>
					{piece.mode !== null && piece.mode !== 'advance' && (
						<rect
							x={piece.left}
							y={0}
							width={piece.width}
							height={MODE_HEIGHT}
							fill={`url(#band-${piece.mode})`}
						/>
					)}
					<rect
						className="band-edge"
						x={piece.left + 0.5}
						y={0.5}
						width={Math.max(0, piece.width - 1)}
						height={MODE_HEIGHT - 1}
					/>
					{piece.decidedBy === 'override' && (
						<rect
							className="band-by-hand"
							x={piece.left}
							y={MODE_HEIGHT - 3}
							width={piece.width}
							height={3}
						/>
					)}
					{piece.word !== '' && (
						<>
							<rect
								className="band-plate"
								x={piece.left + piece.width / 2 - (piece.word.length * PX_PER_LETTER) / 2 - 4}
								y={3}
								width={piece.word.length * PX_PER_LETTER + 8}
								height={MODE_HEIGHT - 6}
							/>
							<text x={piece.left + piece.width / 2} y={MODE_HEIGHT / 2 + 4} textAnchor="middle">
								{piece.word}
							</text>
						</>
					)}
				</g>
			))}
			{windows.map((window, index) => {
				const strip = placeOnStrip(window.span as Span, view, width);
				if (!strip) return null;
				const top = MODE_HEIGHT + 1 + index * WINDOW_HEIGHT;
				const middle = top + WINDOW_HEIGHT / 2;
				const wordWidth = window.words.length * PX_PER_LETTER;
				const inside = wordWidth + 24 <= strip.width;
				const right = strip.left + strip.width;
				const after = right + wordWidth + 8 <= width;
				const wordAt = inside ? strip.left + strip.width / 2 : after ? right + 6 : strip.left - 6;
				return (
					<g key={window.key}>
						<path
							className="band-bracket"
							data-window={window.key}
							d={[
								strip.cutLeft ? '' : `M${strip.left + 0.5} ${top + 2}V${top + WINDOW_HEIGHT - 1}`,
								`M${strip.left} ${middle}H${right}`,
								strip.cutRight ? '' : `M${right - 0.5} ${top + 2}V${top + WINDOW_HEIGHT - 1}`,
							].join('')}
						/>
						{inside && (
							<rect
								className="band-window-plate"
								x={wordAt - wordWidth / 2 - 4}
								y={top}
								width={wordWidth + 8}
								height={WINDOW_HEIGHT}
							/>
						)}
						<text
							x={wordAt}
							y={middle + 4}
							textAnchor={inside ? 'middle' : after ? 'start' : 'end'}
						>
							{window.words}
						</text>
					</g>
				);
			})}
			{faultPieces(faults, view, width, PX_PER_LETTER).map(({ fault, left, lane, ...piece }) => {
				const top = faultTop + Math.min(lane, lanes - 1) * LANE_HEIGHT + 2;
				return (
					<g
						key={`${fault.kind} ${fault.signal} ${fault.from_s}`}
						className="band-fault"
						data-kind={fault.kind}
					>
						<title>{`${faultName(fault)} ${span(fault)}: ${fault.rule}`}</title>
						<rect x={left} y={top} width={piece.width} height={LANE_HEIGHT - 4} />
						{piece.word !== '' && (
							<text x={left + piece.width + 4} y={top + LANE_HEIGHT - 5}>
								{piece.word}
							</text>
						)}
					</g>
				);
			})}
			{chosenStrip && (
				<rect
					className="band-chosen"
					x={chosenStrip.left + 1}
					y={1}
					width={Math.max(2, chosenStrip.width - 2)}
					height={MODE_HEIGHT - 2}
				/>
			)}
			{cursorLeft !== null && (
				<path className="band-cursor" d={`M${Math.round(cursorLeft) + 0.5} 0V${height}`} />
			)}
		</svg>
	);
}
