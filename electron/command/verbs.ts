import { basename, dirname, resolve } from 'node:path';
import { type Fault, faultLine } from '../../calc/fault/fault.ts';
import type { SheetRow } from '../../calc/sheet/column.ts';
import { checkDocument } from '../desk/check.ts';
import { exportDocument } from '../desk/copyout.ts';
import { newPath } from '../desk/places.ts';
import { ringsCsv, ringsJson, ringsTable } from './ringtable.ts';
import { type Caller, type ExitCode, fail, type Streams } from './usage.ts';
import { withDocument } from './withdocument.ts';

export async function printRings(
	project: string,
	form: 'table' | 'json' | 'csv',
	caller: Caller,
	{ out, err }: Streams,
): Promise<ExitCode> {
	return withDocument(project, 'read', caller, err, async (document) => {
		const { utcOffset_min } = document.facts;
		if (form === 'json') {
			const balances = document.model.rings.map((ring) => document.ledger.balance(ring.row)!);
			out(ringsJson(balances));
		} else {
			const { rows } = document.sheetRows('ledger', null, null);
			const ledger: readonly SheetRow[] = rows.map(({ id, cells, flags }) =>
				flags === undefined ? { id, cells } : { id, cells, flags },
			);
			out(form === 'csv' ? ringsCsv(ledger, utcOffset_min) : ringsTable(ledger, utcOffset_min));
		}
		return 0;
	});
}

export async function exportProject(
	project: string,
	folder: string,
	caller: Caller,
	{ out, err }: Streams,
): Promise<ExitCode> {
	return withDocument(project, 'read', caller, err, async (document) => {
		const path = resolve(folder);
		const target = newPath(dirname(path), basename(path), '');
		if (!target.ok) return fail(target, err);
		const written = await exportDocument(document, target.value);
		if (!written.ok) return fail(written, err);
		out(written.value.files.map((file) => `${file}\n`).join(''));
		return 0;
	});
}

/** Says what was looked at; findings that stop something end with 1. */
export async function checkProject(
	project: string,
	caller: Caller,
	{ out, err }: Streams,
): Promise<ExitCode> {
	return withDocument(project, 'read', caller, err, async (document) => {
		const { findings, looked } = checkDocument(document);
		out(looked.map((what) => `looked at: ${what}\n`).join(''));
		for (const fault of findings) err(`${faultLine(fault)}\n`);
		const stops = findings.filter((fault: Fault) => fault.weight === 'stop').length;
		out(stops === 0 ? 'Nothing is wrong.\n' : `${stops} findings.\n`);
		return stops === 0 ? 0 : 1;
	});
}
