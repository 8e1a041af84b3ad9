import type { LoggerLayout } from '../../contract/loggerimport.ts';
import { readLoggerHeader } from '../dialect.ts';

/**
 * True if a file under this layout is in the plain dialect and the quick reader would read it the
 * same, column for column. `head`: its first line.
 */
export function isPlain(layout: LoggerLayout, head: string): boolean {
	const { format, encoding, delimiter, decimal, headingRow, firstRow, time } = layout;
	if (format !== 'csv' || encoding !== 'utf-8' || delimiter !== ',' || decimal !== '.')
		return false;
	if (headingRow !== 1 || firstRow !== 2 || time.format !== 'iso' || time.zone !== 'stamps')
		return false;
	if (layout.modeWords.length > 0 || (layout.missingWords ?? []).length > 0) return false;
	if (layout.modeRules.length > 0 && !layout.columns.some((column) => column.to === 'mode'))
		return false;
	const line = head.replace(/\r$/u, '').replace(/^\uFEFF/u, '');
	const header = readLoggerHeader('', line);
	if (header.unusable) return false;
	const headings = line.split(',');
	const place = (field: number): number => {
		const heading = layout.headings?.[field];
		return heading === undefined ? field : headings.indexOf(heading);
	};
	const asked = new Map(
		layout.columns.map(({ field, to, unit }) => [place(field), { to, unit }] as const),
	);
	return header.fields.every((column, at) => {
		const wanted = asked.get(at);
		if (column?.id === 'time')
			return time.fields.length === 1 && place(time.fields[0]!) === at && wanted === undefined;
		if (column === null) return wanted === undefined;
		return wanted?.to === column.id && (wanted.unit === null || wanted.unit === column.unit);
	});
}
