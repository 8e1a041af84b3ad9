import { MODES, type Mode } from '../../calc/circuit/samples.ts';
import type { SheetRow } from '../../calc/sheet/column.ts';
import type { Span } from './traces.ts';

/** A row of the sheet of set modes. */
export interface SetModeRow extends Span {
	readonly id: number;
	readonly mode: Mode;
	readonly why: string;
}

/** Set modes that reach into a span, in order of their beginning. */
export function setModesIn(rows: readonly SheetRow[], span: Span): readonly SetModeRow[] {
	const found: SetModeRow[] = [];
	for (const { id, cells } of rows) {
		const { from_time, to_time, why } = cells;
		const mode = MODES.find((each) => each === cells.mode);
		if (typeof from_time !== 'number' || typeof to_time !== 'number' || !mode) continue;
		if (to_time <= span.from_s || from_time >= span.to_s) continue;
		found.push({ id, from_s: from_time, to_s: to_time, mode, why: String(why ?? '') });
	}
	return found.sort((a, b) => a.from_s - b.from_s || a.id - b.id);
}
