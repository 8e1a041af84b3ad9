import {
	BookOpenText,
	CircleDashed,
	ClipboardCheck,
	Gauge,
	Layers3,
	type LucideIcon,
	Ruler,
	SquarePen,
} from 'lucide-react';
import type { SheetId } from '../../calc/sheet/column.ts';

export interface SheetEntry {
	readonly sheet: SheetId;
	readonly title: string;
	readonly icon: LucideIcon;
	/** Timeline and ring detail belong beside it. */
	readonly byRing: boolean;
}

/** The sheets in the order of the rail and of Alt+1 to Alt+7. */
export const SHEET_LIST: readonly SheetEntry[] = [
	{ sheet: 'ledger', title: 'Ledger', icon: BookOpenText, byRing: true },
	{ sheet: 'readings', title: 'Readings', icon: Gauge, byRing: true },
	{ sheet: 'rings', title: 'Rings', icon: CircleDashed, byRing: true },
	{ sheet: 'ground', title: 'Ground', icon: Layers3, byRing: false },
	{ sheet: 'meters', title: 'Meters', icon: ClipboardCheck, byRing: false },
	{ sheet: 'drive', title: 'Drive', icon: Ruler, byRing: false },
	{ sheet: 'mode_overrides', title: 'Set modes', icon: SquarePen, byRing: true },
];
