import { formatNumber } from '../../../calc/quantity/format.ts';
import { dateTime } from '../../../calc/quantity/time.ts';
import type {
	LoggerImported,
	LoggerInspection,
	LoggerLayout,
	PreviewField,
} from '../../../electron/contract/loggerimport.ts';
import { durationText } from '../../charts/ticks.ts';
import { MARKS } from '../../look/marks.ts';

/** What the import of logger files says in words. */

export const DELIMITER_WORDS: Readonly<Record<LoggerLayout['delimiter'], string>> = {
	',': 'comma  ,',
	';': 'semicolon  ;',
	'\t': 'tab',
	'|': 'bar  |',
	' ': 'blanks',
};
export const DECIMAL_WORDS: Readonly<Record<LoggerLayout['decimal'], string>> = {
	'.': 'dot  1.18',
	',': 'comma  1,18',
};
export const ENCODING_WORDS: Readonly<Record<LoggerLayout['encoding'], string>> = {
	'utf-8': 'UTF-8',
	'utf-16le': 'UTF-16',
	'windows-1252': 'Windows-1252',
};
export const TIME_WORDS: Readonly<Record<LoggerLayout['time']['format'], string>> = {
	iso: 'year first  2031-04-07 06:10:00',
	dmy: 'day first  07.04.2031 06:10:00',
	mdy: 'month first  04/07/2031 06:10:00',
	excel: 'days of a spreadsheet  47944.257',
	epoch_s: 'seconds since 1970',
	epoch_ms: 'milliseconds since 1970',
};

/** Name of a column or signal as the first word of a line. */
export const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

export const whole = (value: number): string => formatNumber(value, 0, MARKS);
const counted = (value: number, one: string, many: string): string =>
	`${whole(value)} ${value === 1 ? one : many}`;
export const rowsText = (value: number): string => counted(value, 'row', 'rows');

/** Size of a file as a person says it. */
export function bytesText(bytes: number): string {
	const steps = ['B', 'kB', 'MB', 'GB', 'TB'] as const;
	let size = bytes;
	let step = 0;
	while (size >= 1000 && step < steps.length - 1) {
		size /= 1000;
		step++;
	}
	return `${formatNumber(size, step === 0 || size >= 100 ? 0 : 1, MARKS)} ${steps[step]}`;
}

/** A parsed value as shown in the preview: the figure with as many places as it needs, a word, or a gap. */
export function valueText(value: PreviewField['parsed'][number]): string {
	if (value === null) return '—';
	if (typeof value === 'string') return value;
	return formatNumber(value, placesOf(value), MARKS);
}

function placesOf(value: number): number {
	for (let places = 0; places < 4; places++) {
		if (Math.abs(value - Number(value.toFixed(places))) < 1e-9 * Math.max(1, Math.abs(value)))
			return places;
	}
	return 4;
}

/** "58 of 60 could be read, 3 were empty". */
export function readText(
	{ filled, read }: Pick<PreviewField, 'filled' | 'read'>,
	lookedAt: number,
): string {
	const empty = lookedAt - filled;
	const first =
		filled === 0
			? 'nothing in the rows looked at'
			: read === filled
				? 'all read'
				: `${whole(read)} of ${whole(filled)} read`;
	return empty > 0 && filled > 0 ? `${first}, ${whole(empty)} empty` : first;
}

/** What the stamps say together: from when to when, and how far apart. */
export function stampText(
	{ first_s, last_s, step_s, read }: LoggerInspection['time'],
	lookedAt: number,
	utcOffset_min: number,
): string {
	if (first_s === null || last_s === null) return 'No stamp could be read.';
	const share = read === lookedAt ? '' : ` ${whole(read)} of ${whole(lookedAt)} stamps were read.`;
	const step = step_s === null ? '' : `, one every ${stepText(step_s)}`;
	return `From ${dateTime(first_s, utcOffset_min)} to ${dateTime(last_s, utcOffset_min)}${step}.${share}`;
}

const stepText = (step_s: number): string =>
	step_s < 60 ? `${valueText(step_s)} s` : durationText(step_s);

/** Rows so far, how fast, and how long it will still take. */
export function paceText(done: number, of: number | null, rows_s: number | null): string {
	const parts = [rowsText(done)];
	if (rows_s !== null && rows_s > 0) {
		parts.push(`${whole(rows_s)} rows/s`);
		if (of !== null && of > done) parts.push(`about ${durationText((of - done) / rows_s)} left`);
	}
	return parts.join(', ');
}

/** What has come of an import, as heading of its result. */
export function outcomeText({ outcome, added, duplicates }: LoggerImported): string {
	if (outcome === 'cancelled') return 'The import was cancelled';
	if (outcome === 'refused') return 'Nothing was imported';
	if (added === 0 && duplicates > 0) return 'Everything was there already';
	return `${rowsText(added)} imported`;
}

/** "took 12 s, 34 000 rows/s". */
export function tookText({ took_s, rows }: Pick<LoggerImported, 'took_s' | 'rows'>): string {
	return took_s > 0 && rows > 0
		? `${durationText(Math.max(1, took_s))}, ${whole(rows / took_s)} rows/s`
		: durationText(took_s);
}
