import { clockTime } from '../../calc/quantity/time.ts';
import type { Timeline } from '../../electron/contract/verbs.ts';
import { bandPieces, MODE_WORDS, placeOnStrip } from './bands.ts';
import { durationText } from './ticks.ts';
import type { Span } from './traces.ts';

const PX_PER_LETTER = 6.6;
const MODE_HEIGHT = 20;
const WINDOW_HEIGHT = 13;

export interface TimelineBandProps {
	readonly timeline: Timeline;
	readonly view: Span;
	/** Width of the plotting area, px. */
	readonly width: number;
	/** Where the crosshair stands, px from the left of the plotting area; null when it is away. */
	readonly cursorLeft: number | null;
	readonly utcOffset_min: number;
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
}: TimelineBandProps) {
	const clock = (time_s: number) => clockTime(Math.round(time_s), utcOffset_min);
	const windows = windowsOf(timeline).filter((window) => window.span !== null);
	const height = MODE_HEIGHT + 1 + windows.length * WINDOW_HEIGHT;
	return (
		<svg
			className="timeline-band"
			width={width}
			height={height}
			viewBox={`0 0 ${width} ${height}`}
			role="img"
			aria-label="Modes of the circuit and windows of the ring"
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
				<g key={piece.from_s} className="band-piece" data-mode={piece.mode ?? 'none'}>
					<title>{`${MODE_WORDS[piece.mode ?? 'none']} ${clock(piece.from_s)} – ${clock(piece.to_s)}, ${durationText(piece.to_s - piece.from_s)}`}</title>
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
			{cursorLeft !== null && (
				<path className="band-cursor" d={`M${Math.round(cursorLeft) + 0.5} 0V${height}`} />
			)}
		</svg>
	);
}
