import type { LoggerInspection, LoggerLayout } from '../../../electron/contract/loggerimport.ts';

/** Changes a person makes to how logger files are read. Each gives a new layout. */

type Mode = LoggerLayout['modeWords'][number]['mode'];
type Target = LoggerInspection['targets'][number];

/** A field fills a column, or none (`to` null). A column is filled by one field: it moves. */
export function withTarget(
	layout: LoggerLayout,
	field: number,
	to: string | null,
	unit: string | null,
): LoggerLayout {
	const others = layout.columns.filter((column) => column.field !== field && column.to !== to);
	const columns = to === null ? others : [...others, { field, to, unit }];
	return { ...layout, columns: columns.sort((a, b) => a.field - b.field) };
}

/** The same column in another unit. */
export function withUnit(layout: LoggerLayout, field: number, unit: string | null): LoggerLayout {
	return {
		...layout,
		columns: layout.columns.map((column) =>
			column.field === field ? { ...column, unit } : column,
		),
	};
}

/** Fields of the time: date and time of day in one (`second` null), or each in its own. They fill nothing else. */
export function withTimeFields(
	layout: LoggerLayout,
	first: number,
	second: number | null,
): LoggerLayout {
	const fields = second === null || second === first ? [first] : [first, second];
	return {
		...layout,
		columns: layout.columns.filter((column) => !fields.includes(column.field)),
		time: { ...layout.time, fields },
	};
}

/** The headings stand in another row, or nowhere; data begin below them. */
export function withHeadingRow(layout: LoggerLayout, headingRow: number | null): LoggerLayout {
	const { headings: _, ...rest } = layout;
	const firstRow = headingRow === null ? rest.firstRow : Math.max(rest.firstRow, headingRow + 1);
	return { ...rest, headingRow, firstRow };
}

/** A word of the mode field means a mode, or none (`mode` null). */
export function withModeWord(layout: LoggerLayout, text: string, mode: Mode | null): LoggerLayout {
	const others = layout.modeWords.filter((word) => word.text !== text);
	return { ...layout, modeWords: mode === null ? others : [...others, { text, mode }] };
}

/** A rule is used or not. */
export function withRule(
	layout: LoggerLayout,
	rule: LoggerLayout['modeRules'][number],
	used: boolean,
): LoggerLayout {
	const others = layout.modeRules.filter(({ id }) => id !== rule.id);
	return { ...layout, modeRules: used ? [...others, rule] : others };
}

/** Unit a field is taken to be in when it is newly put to a column: the one read beside its heading if it fits. */
export function unitFor(target: Target, unitRead: string | null): string | null {
	const fits = target.units.find(
		({ id, label }) => unitRead !== null && (id === unitRead || label === unitRead),
	);
	return (fits ?? target.units[0])?.id ?? null;
}
