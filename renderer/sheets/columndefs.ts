import type { CellClassParams, CellClassRules, ColDef, ITooltipParams } from 'ag-grid-community';
import { columnsOf, findColumn, passingSize_mm } from '../../calc/sheet/catalogue.ts';
import type { CellValue, Column, SheetId, SheetRow } from '../../calc/sheet/column.ts';
import { type GroupLine, groupFigureWords, groupSign, isGroupLine } from './arrange/groupline.ts';
import { type Marks, reasonsOf, shownText, unitLabel } from './celltext.ts';
import { ChoiceEditor, TypedEditor } from './editors.ts';
import { ColumnHeading } from './heading.ts';
import {
	type ColumnLimits,
	NO_LIMITS,
	outsideWords,
	type SheetLimits,
	sideOf,
} from './limits/columnlimits.ts';
import { isRatio, RATIO_HELP, ratioStyle } from './ratiobar.ts';

/** Figures without the bypass correction: of use only where there is one. */
const UNCORRECTED: ReadonlySet<string> = new Set([
	'volume_uncorrected_m3',
	'dry_solids_uncorrected_t',
]);

/** Columns of remarks: figures stand before them. */
export const REMARKS: ReadonlySet<string> = new Set(['flags', 'entered_by', 'note']);

/**
 * All columns a sheet shows: those of the catalogue, for the ground the sieve columns its rows bear,
 * for the ledger the figures without correction where meters are corrected, and the project's own
 * columns before the remarks.
 */
export function shownColumns(
	sheet: SheetId,
	rows: Iterable<SheetRow>,
	corrected: boolean,
	own: readonly Column[] = [],
): readonly Column[] {
	const all = columnsOf(sheet);
	const known =
		sheet === 'ledger' && !corrected ? all.filter((one) => !UNCORRECTED.has(one.id)) : all;
	if (own.length > 0) {
		const at = known.findIndex((one) => REMARKS.has(one.id));
		return at < 0 ? [...known, ...own] : [...known.slice(0, at), ...own, ...known.slice(at)];
	}
	if (sheet !== 'ground') return known;
	const sieves = new Set<string>();
	for (const row of rows) {
		for (const id of Object.keys(row.cells)) if (passingSize_mm(id) !== null) sieves.add(id);
	}
	const finestFirst = [...sieves].sort(
		(a, b) => (passingSize_mm(a) ?? 0) - (passingSize_mm(b) ?? 0),
	);
	return [
		...known,
		...finestFirst.map((id) => findColumn(sheet, id)).filter((c) => c !== undefined),
	];
}

/** Missing values last, whichever way the column is sorted. */
export function compareCells(a: CellValue, b: CellValue, descending: boolean): number {
	if (a === null || b === null) {
		if (a === b) return 0;
		return (a === null ? 1 : -1) * (descending ? -1 : 1);
	}
	if (typeof a === 'number' && typeof b === 'number') return a - b;
	return String(a).localeCompare(String(b));
}

/** Headings, help and formula of a column as one tooltip text. */
export function headingHelp(column: Column): string {
	const parts = [column.help];
	if (column.formula && column.kind === 'computed') parts.push(column.formula);
	if (column.source && column.kind === 'computed') parts.push(`Source: ${column.source}`);
	if (isRatio(column.id)) parts.push(RATIO_HELP);
	return parts.join('\n');
}

/** Flags of a ledger line: how many, then in words. Nothing to be said is nothing, not a dash. */
export function flagsText(row: SheetRow | undefined): string {
	const reasons = reasonsOf(row?.flags, 'flags');
	return reasons.length === 0 ? '' : `${reasons.length} · ${reasons.join(' · ')}`;
}

/** What the line of a group says in a column: nothing where a figure would make no sense. */
function groupText(line: GroupLine, column: Column, value: CellValue, marks: Marks): string {
	if (value === null) return '';
	return `${groupSign(line, column.id)} ${shownText(column, value, marks)}`.trimStart();
}

/** Classes of figures outside their limits. Both are always there, so that a cell loses its mark with the limits. */
function outsideRules(id: string, limits: ColumnLimits | undefined): CellClassRules<SheetRow> {
	const on = (side: 'below' | 'above') => (params: CellClassParams<SheetRow>) =>
		limits !== undefined &&
		!isGroupLine(params.data) &&
		sideOf(params.data?.cells[id], limits) === side;
	return { 'cell-below': on('below'), 'cell-above': on('above') };
}

function width(column: Column): number {
	if (column.type === 'time') return 166;
	if (column.type === 'choice') return 118;
	if (column.type === 'integer') return 80;
	if (column.type === 'number') {
		const words = Math.max(...column.heading.split(' ').map((word) => word.length));
		return Math.max(
			82,
			Math.min(120, 24 + 8 * Math.max(words, Math.ceil(column.heading.length / 2))),
		);
	}
	if (column.id === 'why') return 480;
	return column.id === 'flags' || column.id === 'note' ? 320 : 148;
}

/** Advance of a tabular figure at the grid's text size, and what stands left and right of the text, px. */
const FIGURE_PX = 8.6;
const PADDING_PX = 20;

export interface ColumnDefOptions {
	readonly marks: Marks;
	readonly editable: boolean;
	/** Columns kept in sight at the left. */
	readonly pinned: readonly string[];
	/** Column sorted from the start, ascending. */
	readonly sortedBy: string | null;
	/** Figures outside are marked. */
	readonly limits?: SheetLimits;
}

/** One grid column, made from the catalogue. */
export function columnDef(column: Column, options: ColumnDefOptions): ColDef<SheetRow, CellValue> {
	const { marks } = options;
	const limits = (options.limits ?? NO_LIMITS).get(column.id);
	const value = (row: SheetRow | undefined): CellValue => row?.cells[column.id] ?? null;
	const numeric = column.type === 'number' || column.type === 'integer';
	const editable = options.editable && column.kind === 'entered';
	const grows = column.id === 'flags' || column.id === 'note';
	return {
		colId: column.id,
		headerName: column.heading,
		headerTooltip: headingHelp(column),
		headerComponentParams: {
			innerHeaderComponent: ColumnHeading,
			innerHeaderComponentParams: {
				unit: unitLabel(column),
				kind: column.kind,
			},
		},
		headerClass: numeric
			? ['heading-grip', 'heading-number', 'ag-right-aligned-header']
			: ['heading-grip', 'heading-text'],
		valueGetter: (params) => value(params.data),
		valueFormatter: (params) =>
			isGroupLine(params.data)
				? groupText(params.data, column, params.value ?? null, marks)
				: column.id === 'flags'
					? flagsText(params.data)
					: shownText(column, params.value, marks),
		equals: (a, b) => a === b,
		comparator: (a, b, _nodeA, _nodeB, descending) =>
			compareCells(a ?? null, b ?? null, descending),
		initialSort: options.sortedBy === column.id ? 'asc' : null,
		filter: numeric ? 'agNumberColumnFilter' : 'agTextColumnFilter',
		filterValueGetter: (params) =>
			numeric ? value(params.data) : shownText(column, value(params.data), marks),
		tooltipValueGetter: (params: ITooltipParams<SheetRow>) => {
			if (isGroupLine(params.data)) return groupFigureWords(params.data, column.id);
			const reasons = reasonsOf(params.data?.flags, column.id);
			const outside = outsideWords(column, value(params.data), limits, marks);
			const said = outside === null ? reasons : [outside, ...reasons];
			return said.length > 0 ? said.join('\n') : null;
		},
		cellClass: [
			column.kind === 'computed' ? 'cell-computed' : 'cell-entered',
			...(numeric ? ['cell-number'] : []),
		],
		...(isRatio(column.id)
			? {
					cellStyle: (params: CellClassParams<SheetRow, CellValue>) =>
						ratioStyle(typeof params.value === 'number' ? params.value : null),
				}
			: {}),
		cellClassRules: {
			// Only a figure without room is clipped: a clip per cell is what painting a sheet costs most.
			'cell-fits': (params) =>
				numeric &&
				shownText(column, value(params.data), marks).length * FIGURE_PX + PADDING_PX <=
					params.column.getActualWidth(),
			'cell-missing': (params) => value(params.data) === null,
			'cell-flags': (params) =>
				column.id === 'flags' && reasonsOf(params.data?.flags, 'flags').length > 0,
			// A blank already shows as one; its reason is asked for there.
			'cell-flagged': (params) =>
				column.id !== 'flags' &&
				value(params.data) !== null &&
				reasonsOf(params.data?.flags, column.id).length > 0,
			...outsideRules(column.id, limits),
		},
		editable: editable ? (params) => !isGroupLine(params.data) : false,
		cellEditor: column.type === 'choice' ? ChoiceEditor : TypedEditor,
		cellEditorPopup: column.type === 'choice',
		cellEditorParams: { catalogueColumn: column },
		initialPinned: options.pinned.includes(column.id) ? 'left' : false,
		lockPinned: true,
		initialWidth: width(column),
		minWidth: 64,
		...(grows ? { initialFlex: 1, minWidth: 240 } : {}),
	};
}
