import type { Fault } from '../../../calc/fault/fault.ts';
import type { LoggerLayout } from '../../contract/loggerimport.ts';
import { readLoggerHeadings } from '../dialect.ts';
import type { ParquetRecord } from './parquetreader.ts';

/** True for a file that is read as Parquet with the headings of readings.csv when nothing else is said. */
export const isParquetName = (path: string): boolean => /\.parquet$/iu.test(path);

/**
 * The layout of a Parquet file that has the columns of readings.csv under their own names: times as
 * points in time (UTC), or as text with an offset. `layout` null: a required column is missing.
 */
export function plainParquetLayout(
	file: string,
	{ headings, stamps }: Pick<ParquetRecord, 'headings' | 'stamps'>,
): { readonly layout: LoggerLayout | null; readonly faults: readonly Fault[] } {
	const { fields, faults, unusable } = readLoggerHeadings(file, headings);
	const time = fields.findIndex((column) => column?.id === 'time');
	if (unusable || time < 0) return { layout: null, faults };
	return {
		faults,
		layout: {
			format: 'parquet',
			delimiter: ',',
			decimal: '.',
			encoding: 'utf-8',
			headingRow: null,
			firstRow: 1,
			time: { fields: [time], format: stamps.has(time) ? 'epoch_ms' : 'iso', zone: 'stamps' },
			columns: fields.flatMap((column, field) =>
				column === null || field === time ? [] : [{ field, to: column.id, unit: null }],
			),
			modeWords: [],
			modeRules: [],
		},
	};
}
