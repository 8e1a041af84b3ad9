import type { SheetId } from '../../calc/sheet/column.ts';
import { SHEET_LIST } from './sheetlist.ts';

export interface SheetRailProps {
	readonly active: SheetId;
	readonly onChoose: (sheet: SheetId) => void;
}

/** The sheets of the drive, always in sight at the left. */
export function SheetRail({ active, onChoose }: SheetRailProps) {
	return (
		<nav className="sheet-rail" aria-label="Sheets">
			{SHEET_LIST.map(({ sheet, title, icon: Icon }, index) => (
				<button
					key={sheet}
					type="button"
					className="sheet-rail-item"
					aria-current={sheet === active ? 'page' : undefined}
					title={`${title} (Alt+${index + 1})`}
					onClick={() => onChoose(sheet)}
				>
					<Icon size={20} strokeWidth={1.75} aria-hidden />
					<span>{title}</span>
				</button>
			))}
		</nav>
	);
}
