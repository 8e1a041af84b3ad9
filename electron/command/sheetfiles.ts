import { existsSync, readFileSync } from 'node:fs';
import { basename, dirname, extname, resolve } from 'node:path';
import { type Fault, faultLine } from '../../calc/fault/fault.ts';
import {
	EXCHANGE_SHAPES,
	type ExportForm,
	FORM_ENDINGS,
	type SheetReading,
	sheetReading,
} from '../contract/sheetexchange.ts';
import { newPath } from '../desk/places.ts';
import { exportSheet, inspectSheet, takeSheet } from '../desk/sheetexchange.ts';
import { type Caller, type ExitCode, fail, type Streams, USAGE } from './usage.ts';
import { withDocument } from './withdocument.ts';

export async function exportSheetFile(
	project: string,
	sheetName: string,
	path: string,
	caller: Caller,
	{ out, err }: Streams,
): Promise<ExitCode> {
	const sheet = EXCHANGE_SHAPES.export.ask.shape.sheet.safeParse(sheetName);
	if (!sheet.success) return misused(err, `There is no sheet "${sheetName}" to write.`);
	const ending = extname(path).toLowerCase();
	const form = (Object.keys(FORM_ENDINGS) as ExportForm[]).find(
		(each) => FORM_ENDINGS[each] === ending,
	);
	if (form === undefined)
		return misused(
			err,
			'The file ends with .csv, .xlsx or .parquet, which says how it is written.',
		);
	const target = newPath(dirname(resolve(path)), basename(path), '');
	if (!target.ok) return fail(target, err);
	return withDocument(project, 'read', caller, err, async (document) => {
		const made = await exportSheet(document, sheet.data, form, target.value);
		if (!made.ok) return fail(made, err);
		const { file, rows, columns } = made.value;
		out(`${file}: ${rows} rows, ${columns} columns.\n`);
		return 0;
	});
}

export interface SheetImportOptions {
	readonly existing: 'update' | 'skip';
	/** File that says how the file is read, as JSON. */
	readonly read: string | null;
	readonly goodRows: boolean;
	/** Only says how the file would be read. */
	readonly look: boolean;
}

export async function importSheetFile(
	project: string,
	sheetName: string,
	path: string,
	options: SheetImportOptions,
	caller: Caller,
	{ out, err }: Streams,
): Promise<ExitCode> {
	const sheet = EXCHANGE_SHAPES.take.ask.shape.sheet.safeParse(sheetName);
	if (!sheet.success) return misused(err, `There is no sheet "${sheetName}" that takes rows.`);
	if (!existsSync(resolve(path))) return fail({ message: `There is no file ${path}.` }, err);
	const said = options.read === null ? {} : readingIn(options.read);
	if (typeof said === 'string') return fail({ message: said }, err);
	const reading: SheetReading = { ...said, existing: options.existing };
	return withDocument(project, options.look ? 'read' : 'write', caller, err, async (document) => {
		if (options.look) {
			const seen = await inspectSheet(document, sheet.data, resolve(path), reading);
			if (!seen.ok) return fail(seen, err);
			const { fields, notYet } = seen.value;
			tellFaults(seen.value, err);
			const whole = {
				...seen.value.reading,
				fields: fields.map(({ field, column, unit }) => ({ field, column, unit })),
			};
			for (const { heading, column, remark } of fields)
				err(`${heading}: ${column ?? 'left out'}${remark === null ? '' : ` (${remark})`}\n`);
			if (notYet !== null) err(`${notYet}\n`);
			out(`${JSON.stringify(whole, null, '\t')}\n`);
			return notYet === null ? 0 : 1;
		}
		const made = await takeSheet(
			document,
			{
				sheet: sheet.data,
				path: resolve(path),
				reading,
				sha256: null,
				take: options.goodRows ? 'goodRows' : 'all',
			},
			{ who: caller.person, at_s: caller.now_s },
		);
		if (!made.ok) return fail(made, err);
		const { taken } = made.value;
		tellFaults(taken, err);
		if (taken.outcome === 'refused')
			return fail({ message: taken.why ?? 'Nothing was taken.' }, err);
		const { rows, added, updated, same, skipped, faulty } = taken;
		out(
			`${rows} rows read: ${added} new, ${updated} updated, ${same} there already, ${skipped} skipped, ${faulty} left out.\n`,
		);
		return 0;
	});
}

function misused(err: Streams['err'], why: string): ExitCode {
	err(`${why}\n\n${USAGE}`);
	return 2;
}

function tellFaults(
	{ faults, moreFaults }: { readonly faults: readonly unknown[]; readonly moreFaults: number },
	err: Streams['err'],
): void {
	for (const fault of faults) err(`${faultLine(fault as Fault)}\n`);
	if (moreFaults > 0) err(`and ${moreFaults} more faults\n`);
}

/** How a file is to be read, as a file says it; or why it does not. */
function readingIn(path: string): SheetReading | string {
	try {
		const read = sheetReading
			.partial({ existing: true })
			.safeParse(JSON.parse(readFileSync(resolve(path), 'utf8')));
		if (read.success) return { ...read.data, existing: read.data.existing ?? 'update' };
		const [issue] = read.error.issues;
		return `${path} does not say how to read a file: ${issue?.path.join('.') ?? ''} ${issue?.message ?? ''}`;
	} catch (error) {
		return `${path} cannot be read as JSON (${(error as Error).name}).`;
	}
}
