import { inflateRawSync } from 'node:zlib';
import { partsOf } from './archivelimits.ts';

/** What is seen of a workbook without reading its cells. Only of archives that keep to the limits. */
export interface WorkbookHints {
	/** A cell may be shaped as a percentage. */
	readonly percent: boolean;
	/** A cell is a formula. */
	readonly formulas: boolean;
}

/** Numbers of the two percent formats that every workbook has (ECMA-376 part 1, 18.8.30). */
const PERCENT_FORMATS = /numFmtId="(?:9|10)"/u;

/** Looks for formulas and percentages in the parts of a workbook; a part that cannot be unpacked may have either. */
export function workbookHints(bytes: Uint8Array): WorkbookHints {
	let percent = false;
	let formulas = false;
	for (const { name, size, method, packed } of partsOf(bytes)) {
		const isSheet = /^\/?xl\/worksheets\/[^/]+\.xml$/iu.test(name);
		const isStyles = /^\/?xl\/styles\.xml$/iu.test(name);
		if (!isSheet && !isStyles) continue;
		let content: Buffer;
		try {
			content =
				method === 0
					? Buffer.from(packed)
					: inflateRawSync(packed, { maxOutputLength: Math.max(1, size) });
		} catch {
			percent ||= isStyles;
			continue;
		}
		if (isSheet) formulas ||= ['<f>', '<f ', ':f>', ':f '].some((mark) => content.includes(mark));
		else {
			const text = content.toString('utf8');
			percent = PERCENT_FORMATS.test(text) || /formatCode="[^"]*%/u.test(text);
		}
	}
	return { percent, formulas };
}
