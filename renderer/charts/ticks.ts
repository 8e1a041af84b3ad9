import { clockTime, dateTime } from '../../calc/quantity/time.ts';

/** Ticks and texts of the time axis. Times are Unix seconds; shown in the drive's own offset. */

const MINUTE = 60;
const HOUR = 3600;
const DAY = 86_400;

const STEPS = [
	1,
	2,
	5,
	10,
	15,
	30,
	MINUTE,
	2 * MINUTE,
	5 * MINUTE,
	10 * MINUTE,
	15 * MINUTE,
	30 * MINUTE,
	HOUR,
	2 * HOUR,
	3 * HOUR,
	6 * HOUR,
	12 * HOUR,
	DAY,
	2 * DAY,
	7 * DAY,
] as const;

/** Decimals that tell neighbouring ticks of a value axis apart: 2 for a step of 0.05, 3 for 0.025. */
export function decimalsOf(step: number): number {
	for (let decimals = 0; decimals < 9; decimals++) {
		const scaled = step * 10 ** decimals;
		if (Math.abs(scaled - Math.round(scaled)) < 1e-6 * scaled) return decimals;
	}
	return 9;
}

/** The smallest clock step, in seconds, that gives at most `most` ticks over the span. */
export function clockStep_s(span_s: number, most: number): number {
	for (const step of STEPS) {
		if (span_s / step <= most) return step;
	}
	return Math.ceil(span_s / most / (7 * DAY)) * 7 * DAY;
}

/** Stamps on whole steps of the local clock within the span, ends included. */
export function clockTicks(
	from_s: number,
	to_s: number,
	step_s: number,
	utcOffset_min: number,
): number[] {
	const shift = utcOffset_min * MINUTE;
	const ticks: number[] = [];
	for (let k = Math.ceil((from_s + shift) / step_s); k * step_s - shift <= to_s; k++) {
		ticks.push(k * step_s - shift);
	}
	return ticks;
}

const dayOf = (time_s: number, utcOffset_min: number): string =>
	dateTime(time_s, utcOffset_min).slice(0, 10);

/** Tick texts for one axis: clock readings, and the day itself where a new one begins. */
export function tickTexts(
	ticks: readonly number[],
	step_s: number,
	utcOffset_min: number,
): string[] {
	let day: string | null = null;
	return ticks.map((tick) => {
		const today = dayOf(tick, utcOffset_min);
		const clock = clockTime(tick, utcOffset_min);
		if (step_s >= DAY) return today;
		const turned = day !== null && today !== day;
		day = today;
		return turned ? today : clock;
	});
}

/** A stretch of time as a person says it: "48 s", "6 min 40 s", "2 h 5 min". */
export function durationText(seconds: number): string {
	const whole = Math.round(Math.abs(seconds));
	const sign = seconds < 0 && whole > 0 ? '−' : '';
	if (whole < MINUTE) return `${sign}${whole} s`;
	if (whole < HOUR) {
		const rest = whole % MINUTE;
		return `${sign}${Math.floor(whole / MINUTE)} min${rest > 0 ? ` ${rest} s` : ''}`;
	}
	const minutes = Math.round(whole / MINUTE);
	const rest = minutes % 60;
	return `${sign}${Math.floor(minutes / 60)} h${rest > 0 ? ` ${rest} min` : ''}`;
}
