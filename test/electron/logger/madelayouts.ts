import { isoTime, parseTime } from '../../../calc/quantity/time.ts';

/** Ways to write the same record down, each as another logger would. */
export interface Dialect {
	readonly name: string;
	readonly ending: string;
	write(plain: string): string;
}

const rowsOf = (plain: string): string[][] =>
	plain
		.trimEnd()
		.split('\n')
		.map((line) => line.split(','));

const secondsOf = (text: string): number => {
	const read = parseTime(text);
	if (read.kind !== 'time') throw new RangeError(text);
	return read.time_s;
};

/** Local parts of a time at a fixed offset. */
const parts = (
	text: string,
	offset_min: number,
): { y: string; m: string; d: string; clock: string } => {
	const local = isoTime(secondsOf(text), offset_min);
	return {
		y: local.slice(0, 4),
		m: local.slice(5, 7),
		d: local.slice(8, 10),
		clock: local.slice(11, 19),
	};
};

/** Headings of another make: `Feed flow [m³/h]`. */
const NAMED: Record<string, string> = {
	time: 'Time stamp',
	mode: 'Circuit mode',
	feed_flow_m3_h: 'Feed flow [m³/h]',
	feed_density_t_m3: 'Feed density [t/m³]',
	return_flow_m3_h: 'Return flow [m³/h]',
	return_density_t_m3: 'Return density [t/m³]',
	chamber_level_m: 'Level working chamber [m]',
	feed_total_m3: 'Feed totaliser [m³]',
};

const comma = (text: string): string => text.replace('.', ',');

export const DIALECTS: readonly Dialect[] = [
	{
		name: 'semicolons, decimal commas, day.month.year without offset, headings of another make',
		ending: 'csv',
		write(plain) {
			const [head = [], ...rows] = rowsOf(plain);
			const lines = rows.map(([time = '', mode = '', ...figures]) => {
				const { y, m, d, clock } = parts(time, 60);
				return [`${d}.${m}.${y} ${clock}`, mode, ...figures.map(comma)].join(';');
			});
			return `${[head.map((id) => NAMED[id] ?? id).join(';'), ...lines].join('\r\n')}\r\n`;
		},
	},
	{
		name: 'tabs, quotation marks, month/day/year with AM and PM, a title above and a row of units',
		ending: 'txt',
		write(plain) {
			const [head = [], ...rows] = rowsOf(plain);
			const lines = rows.map(([time = '', mode = '', ...figures]) => {
				const { y, m, d, clock } = parts(time, 60);
				const hour = Number(clock.slice(0, 2));
				const half = `${((hour + 11) % 12) + 1}${clock.slice(2)} ${hour < 12 ? 'AM' : 'PM'}`;
				return [`"${m}/${d}/${y} ${half}"`, `"${mode.toUpperCase()}"`, ...figures].join('\t');
			});
			const names = head.map((id) => `"${(NAMED[id] ?? id).replace(/ \[.*/u, '')}"`).join('\t');
			const units = head.map((id) => /\[(.*)\]/u.exec(NAMED[id] ?? '')?.[1] ?? '').join('\t');
			return `Export of an invented logger\n\n${[names, units, ...lines].join('\n')}\n`;
		},
	},
	{
		name: 'date and time of day in two fields, columns in another order, no value as ---',
		ending: 'csv',
		write(plain) {
			const [head = [], ...rows] = rowsOf(plain);
			const turned = <T>(list: readonly T[]): T[] => [...list].reverse();
			const lines = rows.map(([time = '', mode = '', ...figures]) => {
				const { y, m, d, clock } = parts(time, 60);
				const filled = figures.map((figure) => (figure === '' ? '---' : figure));
				return [...turned(filled), `${y}/${m}/${d}`, clock, mode].join(',');
			});
			const [, , ...ids] = head;
			return `${[[...turned(ids.map((id) => NAMED[id] ?? id)), 'Date', 'Clock', 'Circuit mode'].join(','), ...lines].join('\n')}\n`;
		},
	},
	{
		name: 'seconds since 1970, bars between fields',
		ending: 'csv',
		write(plain) {
			const [head = [], ...rows] = rowsOf(plain);
			const lines = rows.map(([time = '', ...rest]) => [secondsOf(time), ...rest].join('|'));
			return `${[head.map((id) => NAMED[id] ?? id).join('|'), ...lines].join('\n')}\n`;
		},
	},
	{
		name: 'milliseconds since 1970',
		ending: 'csv',
		write(plain) {
			const [head = [], ...rows] = rowsOf(plain);
			const lines = rows.map(([time = '', ...rest]) => [secondsOf(time) * 1000, ...rest].join(','));
			return `${[head.join(','), ...lines].join('\n')}\n`;
		},
	},
	{
		name: 'day numbers of a spreadsheet',
		ending: 'csv',
		write(plain) {
			const [head = [], ...rows] = rowsOf(plain);
			const lines = rows.map(([time = '', ...rest]) =>
				[((secondsOf(time) + 3600) / 86_400 + 25_569).toFixed(10), ...rest].join(';'),
			);
			return `${[head.map((id) => NAMED[id] ?? id).join(';'), ...lines].join('\n')}\n`;
		},
	},
];
