import type { Fault } from '../../calc/fault/fault.ts';
import { checkWholeSheet } from '../../calc/formula/check.ts';
import { checkRow } from '../../calc/sheet/cell.ts';
import { checkFile } from '../store/checkfile.ts';
import { ENTERED_SHEETS } from '../store/projectfile.ts';
import { balanceInputHash } from './balanceinput.ts';
import type { OpenDocument } from './document.ts';

/**
 * Everything that can be checked of an open document: its file, the journal, and the rows against
 * the rules of the sheets. Findings of the sheets name the row by its number.
 */
export function checkDocument(document: OpenDocument): { findings: Fault[]; looked: string[] } {
	const { findings, looked } = checkFile(document.file);
	const { utcOffset_min } = document.facts;
	for (const sheet of ENTERED_SHEETS) {
		const rows = [...document.model.rows[sheet]].sort(
			sheet === 'readings'
				? (a, b) => Number(a[1].time) - Number(b[1].time)
				: (a, b) => a[0] - b[0],
		);
		const place = (fault: Fault, row: number | undefined): Fault => ({
			...fault,
			where: { ...fault.where, file: sheet, ...(row === undefined ? {} : { row }) },
		});
		for (const [row, cells] of rows)
			findings.push(...checkRow(sheet, cells, utcOffset_min).map((fault) => place(fault, row)));
		const between = checkWholeSheet(
			sheet,
			rows.map(([, cells]) => cells),
			utcOffset_min,
		);
		for (const fault of between)
			findings.push(
				place(fault, fault.where.row === undefined ? undefined : rows[fault.where.row - 1]?.[0]),
			);
		looked.push(`${rows.length} rows of ${sheet} against the rules of the sheet`);
	}
	const kept = document.file.balances();
	if (kept.length > 0) {
		const rings = new Map(document.model.rings.map((ring) => [ring.input.ring, ring]));
		const stale = kept.filter((one) => {
			const ring = rings.get(one.ring);
			return (
				ring === undefined ||
				balanceInputHash(document.model, ring, document.ledger.checking.digest) !== one.inputHash
			);
		});
		looked.push(
			`${kept.length} balances kept from the logger, ${kept.length - stale.length} of them made with the present inputs`,
		);
	}
	return { findings, looked };
}
