import { type ColumnSource, parquetWriteBuffer } from 'hyparquet-writer';
import { unit } from '../../calc/quantity/unit.ts';
import type { Column } from '../../calc/sheet/column.ts';
import type { SheetTable } from './exportcolumns.ts';

/**
 * A sheet as a Parquet file: columns under their ids, as in the plain folder; numbers as doubles,
 * whole numbers as 64-bit integers, times as UTC timestamps to the millisecond, a missing value as
 * null. Heading and unit of each column and the drive's offset stand in the metadata of the file.
 */
export function parquetOf({ columns, rows, utcOffset_min, sheet }: SheetTable): Uint8Array {
	return new Uint8Array(
		parquetWriteBuffer({
			columnData: columns.map((column) =>
				columnSource(
					column,
					rows.map((row) => row.cells[column.id] ?? null),
				),
			),
			createdBy: 'Slurry Ledger',
			kvMetadata: [
				{ key: 'sheet', value: sheet },
				{ key: 'utc_offset_min', value: String(utcOffset_min) },
				...columns.map((column) => ({
					key: `column:${column.id}`,
					value: JSON.stringify({
						heading: column.heading,
						unit: column.unit === null ? null : unit(column.unit).label,
					}),
				})),
			],
		}),
	);
}

function columnSource(column: Column, values: readonly (number | string | null)[]): ColumnSource {
	const source = { name: column.id, nullable: true };
	switch (column.type) {
		case 'time':
			return {
				...source,
				type: 'TIMESTAMP',
				data: values.map((value) =>
					value === null ? null : new Date(Math.round(Number(value) * 1000)),
				),
			};
		case 'integer':
			return {
				...source,
				type: 'INT64',
				data: values.map((value) => (value === null ? null : BigInt(value))),
			};
		case 'number':
			return { ...source, type: 'DOUBLE', data: [...values] };
		default:
			return { ...source, type: 'STRING', data: [...values] };
	}
}
