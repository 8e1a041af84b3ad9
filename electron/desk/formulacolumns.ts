import {
	type FormulaColumn,
	type FormulaPlan,
	type FormulaSheetId,
	formulaColumn,
	knownNames,
	type PlannedColumn,
	planFormulas,
	USUAL_DECIMALS,
} from '../../calc/formula/columns.ts';
import { measureWords, unitsOf, unitText } from '../../calc/formula/dimension.ts';
import type { KnownColumn } from '../../calc/formula/meaning.ts';
import { suggest } from '../../calc/formula/suggest.ts';
import { formulaWorking } from '../../calc/formula/working.ts';
import { formatNumber, type NumberMarks } from '../../calc/quantity/format.ts';
import { dateTime } from '../../calc/quantity/time.ts';
import { findUnit, unit } from '../../calc/quantity/unit.ts';
import { findColumn } from '../../calc/sheet/catalogue.ts';
import { nameTrouble } from '../../calc/sheet/ownname.ts';
import type { Working } from '../../calc/sheet/working.ts';
import type {
	FormulaCheckAnswer,
	FormulaCheckAsk,
	FormulaSuggestAnswer,
	FormulaSuggestAsk,
	FormulaUse,
} from '../contract/formulas.ts';
import type { DriveModel, Touched } from './drivemodel.ts';
import { type CellSource, SheetFormulas } from './sheetformulas.ts';

/** Rows a preview shows where none are asked for. */
const USUAL_PREVIEW = 5;
const SHEETS = ['ledger', 'readings'] as const;
/** Stands for a column that has no name yet; no column can be called so. */
const UNNAMED = '(this column)';

/** The formula columns of a document: what they mean, and their figures kept up with the rows. */
export class FormulaColumns {
	readonly #model: DriveModel;
	readonly #source: CellSource;
	readonly #utcOffset_min: number;
	readonly #marks: NumberMarks;
	readonly #plans: Record<FormulaSheetId, FormulaPlan>;
	/** Made when first needed: a sheet without formulas costs nothing. */
	readonly #sheets = new Map<FormulaSheetId, SheetFormulas>();

	constructor(model: DriveModel, source: CellSource, utcOffset_min: number, marks: NumberMarks) {
		this.#model = model;
		this.#source = source;
		this.#utcOffset_min = utcOffset_min;
		this.#marks = marks;
		this.#plans = { ledger: this.#plan('ledger'), readings: this.#plan('readings') };
	}

	/**
	 * Takes in what was touched, with the rows of ledger and readings whose cells may have changed.
	 * Gives the rows of each in which a formula column changed; null where those are more than `most`.
	 */
	follow(
		touched: Touched,
		rows: Readonly<Record<FormulaSheetId, Iterable<number>>>,
		most: number,
	): Record<FormulaSheetId, readonly number[] | null> {
		const changed: Record<FormulaSheetId, readonly number[] | null> = {
			ledger: [],
			readings: [],
		};
		for (const sheet of SHEETS) {
			const made = this.#sheets.get(sheet);
			if (made !== undefined) changed[sheet] = made.follow(rows[sheet], most);
			if (touched.rows.formulas.size === 0) continue;
			const plan = this.#plan(sheet);
			if (JSON.stringify(plan.columns) === JSON.stringify(this.#plans[sheet].columns)) continue;
			this.#plans[sheet] = plan;
			made?.take(plan);
			const held = this.#model.rows[sheet === 'ledger' ? 'rings' : 'readings'];
			changed[sheet] = held.size > most ? null : [...held.keys()];
		}
		return changed;
	}

	/** Puts the figures of a row's formula columns, and why they are blank, beside its other cells. */
	add(
		sheet: FormulaSheetId,
		row: number,
		cells: Record<string, number | string | null>,
		flag: (column: string, reasons: readonly string[]) => void,
	): void {
		if (this.#plans[sheet].columns.length === 0) return;
		const made = this.#at(sheet);
		const place = made.placeOf(row);
		if (place === undefined) return;
		const { figures } = made;
		for (const id of figures.ids) {
			const value = figures.value(id, place);
			cells[id] = value;
			if (value === null) flag(id, figures.reasons(id, place));
		}
	}

	/** Whether a sheet has any formula column. */
	any(sheet: FormulaSheetId): boolean {
		return this.#plans[sheet].columns.length > 0;
	}

	/** What is wrong with the formula in a row of the sheet `formulas`; null if nothing is. */
	trouble(row: number): string | null {
		const column = this.#column(row);
		if (column === null) return null;
		return this.#planned(column.sheet, column.id)?.fault?.message ?? null;
	}

	/** How a figure came about; null if there is no such row or formula column. */
	working(sheet: FormulaSheetId, row: number, id: string): Working | null {
		const planned = this.#planned(sheet, id);
		const made = this.#at(sheet);
		const place = made.placeOf(row);
		if (planned === undefined || place === undefined) return null;
		return formulaWorking({
			figures: made.figures,
			planned,
			row: place,
			cell: (column) => made.cell(column, row),
			marks: this.#marks,
			showTime: (time_s) => dateTime(time_s, this.#utcOffset_min),
		});
	}

	has(sheet: FormulaSheetId, id: string): boolean {
		return this.#planned(sheet, id) !== undefined;
	}

	/** What a formula would be as a column, without entering it. */
	check(ask: FormulaCheckAsk): FormulaCheckAnswer {
		const id = ask.id === undefined || ask.id === '' ? UNNAMED : ask.id;
		const others = this.#columns(ask.sheet, ask.row ?? null);
		const shown = ask.unit.trim() === '' || ask.unit.trim() === '1' ? null : findUnit(ask.unit);
		const tried: FormulaColumn = {
			id,
			sheet: ask.sheet,
			heading: id,
			unit: shown?.id ?? null,
			decimals: ask.decimals ?? USUAL_DECIMALS,
			expression: ask.expression,
			note: null,
		};
		const unitFault =
			shown === null && ask.unit.trim() !== '' && ask.unit.trim() !== '1'
				? 'This unit is not known.'
				: null;
		const before = ask.row === undefined ? null : this.#column(ask.row);
		// Under its old name a column is still what the others look at.
		const plan = planFormulas(ask.sheet, [...others, tried]);
		const planned = plan.columns.at(-1)!;
		const usedBy = this.#planned(ask.sheet, before?.id ?? id)?.usedBy ?? planned.usedBy;
		const found = {
			idFault: ask.id === undefined ? null : this.#nameFault(ask, ask.id, others, before),
			unitFault,
			uses: planned.uses.flatMap((one) => this.#use(plan, one)),
			usedBy: usedBy.filter((one) => one !== id).flatMap((one) => this.#use(plan, one)),
		};
		const meaning = planned.gives;
		const result =
			meaning === null
				? null
				: {
						unit: meaning.type === 'truth' ? '' : unitText(meaning.measure),
						what: meaning.type === 'truth' ? 'a yes or no' : measureWords(meaning.measure),
					};
		const units =
			meaning === null || meaning.type === 'truth'
				? []
				: unitsOf(meaning.measure).map((one) => ({ id: one.id, label: one.label }));
		// Judged against a unit that is not one, the formula would be blamed for it.
		const fault =
			unitFault !== null && planned.fault?.code === 'result_unit' ? null : planned.fault;
		if (fault !== null || unitFault !== null)
			return { ok: false, fault, result, units, ...found, preview: [], blank: null };
		const preview = this.#preview(plan, planned, ask.rows ?? USUAL_PREVIEW);
		return { ok: found.idFault === null, fault, result, units, ...found, ...preview };
	}

	suggest(ask: FormulaSuggestAsk): FormulaSuggestAnswer {
		const names = knownNames(ask.sheet, this.#columns(ask.sheet, ask.row ?? null));
		const made = suggest({
			text: ask.expression,
			caret: ask.caret,
			names,
			helpOf: (column) => this.#help(ask.sheet, column),
			strata: [...new Set(this.#model.ground.map((share) => share.stratum))],
		});
		return { ...made, offers: made.offers.map((offer) => ({ ...offer })) };
	}

	#preview(
		plan: FormulaPlan,
		{ column }: PlannedColumn,
		rows: number,
	): Pick<FormulaCheckAnswer, 'preview' | 'blank'> {
		const made = this.#at(column.sheet);
		const figures = made.trial(plan, column.id);
		const of = made.count;
		const preview: FormulaCheckAnswer['preview'] = [];
		for (let place = Math.max(0, of - rows); place < of; place++) {
			const value = figures.value(column.id, place);
			preview.push({
				name: upperFirst(made.nameOf(place)),
				value,
				text: value === null ? '' : formatNumber(value, column.decimals, this.#marks),
				reasons: value === null ? figures.reasons(column.id, place) : [],
			});
		}
		return { preview, blank: { rows: figures.blankRows(column.id), of } };
	}

	#nameFault(
		{ sheet }: FormulaCheckAsk,
		id: string,
		others: readonly FormulaColumn[],
		before: FormulaColumn | null,
	): string | null {
		const trouble = nameTrouble(id);
		if (trouble !== null) return upperFirst(`${trouble}.`);
		const own = findColumn(sheet, id);
		if (own !== undefined) return `${own.heading} of this sheet has this name.`;
		const other = others.find((one) => one.id === id);
		if (other !== undefined) return `The formula column ${other.heading} has this name.`;
		const usedBy =
			before === null || before.id === id ? [] : (this.#planned(sheet, before.id)?.usedBy ?? []);
		if (usedBy.length === 0) return null;
		return `${before?.id} is used under this name by ${usedBy.join(', ')}.`;
	}

	#use({ names, columns }: FormulaPlan, id: string): FormulaUse[] {
		const known = names.columns.get(id);
		if (known === undefined) return [];
		return [
			{
				id,
				heading: known.heading,
				unit: known.unit === null ? '' : unit(known.unit).label,
				formula: columns.some((one) => one.column.id === id),
			},
		];
	}

	#help(sheet: FormulaSheetId, { id }: KnownColumn): string {
		const planned = this.#planned(sheet, id);
		if (planned !== undefined) return planned.column.note ?? planned.column.expression;
		return findColumn(sheet, id)?.help ?? '';
	}

	#planned(sheet: FormulaSheetId, id: string): PlannedColumn | undefined {
		return this.#plans[sheet].columns.find((one) => one.column.id === id);
	}

	#plan(sheet: FormulaSheetId): FormulaPlan {
		return planFormulas(sheet, this.#columns(sheet, null));
	}

	/** Columns as entered, without one row; one whose name cannot be used has no place on its sheet. */
	#columns(sheet: FormulaSheetId, without: number | null): FormulaColumn[] {
		const columns = new Map<string, FormulaColumn>();
		for (const row of [...this.#model.rows.formulas.keys()].sort((a, b) => a - b)) {
			const column = row === without ? null : this.#column(row);
			if (column?.sheet !== sheet || columns.has(column.id)) continue;
			if (nameTrouble(column.id) !== null || findColumn(sheet, column.id) !== undefined) continue;
			columns.set(column.id, column);
		}
		return [...columns.values()];
	}

	#column(row: number): FormulaColumn | null {
		const cells = this.#model.rows.formulas.get(row);
		return cells === undefined ? null : formulaColumn(cells);
	}

	#at(sheet: FormulaSheetId): SheetFormulas {
		let made = this.#sheets.get(sheet);
		if (made === undefined) {
			made = new SheetFormulas(this.#plans[sheet], this.#model, this.#source, this.#utcOffset_min);
			this.#sheets.set(sheet, made);
		}
		return made;
	}
}

function upperFirst(text: string): string {
	return text.slice(0, 1).toUpperCase() + text.slice(1);
}
