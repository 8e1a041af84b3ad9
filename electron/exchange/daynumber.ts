/**
 * Day numbers of spreadsheets: days since 1899-12-30, which from March 1900 on agrees with the
 * system that begins with 1900 (its 29 February 1900 never was). Source: ECMA-376 part 1, 18.17.4.1.
 */
const DAY_S = 86_400;
/** 1899-12-30 in Unix seconds. */
const ORIGIN_S = -25_569 * DAY_S;

/** The day number of a moment as the clock shows it `utcOffset_min` east of UTC. */
export function dayNumberOf(time_s: number, utcOffset_min: number): number {
	return (time_s + utcOffset_min * 60 - ORIGIN_S) / DAY_S;
}

/** A moment of a clock `utcOffset_min` east of UTC in Unix seconds, to the millisecond. */
export function timeOfClock(clock_ms: number, utcOffset_min: number): number {
	return Math.round(clock_ms - utcOffset_min * 60_000) / 1000;
}
