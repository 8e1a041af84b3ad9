import './columnhelp.css';
import { X } from 'lucide-react';
import { type ReactNode, useCallback, useEffect, useLayoutEffect, useRef, useState } from 'react';
import type { Column, SheetId } from '../../../calc/sheet/column.ts';
import { IconButton } from '../../parts/IconButton.tsx';
import type { Marks } from '../celltext.ts';
import { COLUMN_HELP_EVENT } from '../heading.ts';
import { ColumnFacts } from './ColumnFacts.tsx';

export interface ColumnHelpProps {
	readonly sheet: SheetId;
	readonly marks: Marks;
	/** The column of an id, as the sheet shows it. */
	readonly find: (id: string) => Column | undefined;
	/** What else stands on the card of a column. */
	readonly more?: (column: Column, close: () => void) => ReactNode;
}

const WIDTH_PX = 400;
const MARGIN_PX = 8;

interface Opened {
	readonly id: string;
	/** Where the focus goes back to. */
	readonly from: Element | null;
}

/**
 * A card that explains a heading: asked for with Shift+F1 in the heading or in any cell below it, or
 * with the question mark of the heading. It leaves the sheet in sight and goes with Escape.
 */
export function ColumnHelp({ sheet, marks, find, more }: ColumnHelpProps) {
	const [opened, setOpened] = useState<Opened | null>(null);
	const card = useRef<HTMLElement>(null);
	const column = opened ? find(opened.id) : undefined;

	const close = useCallback(() => {
		setOpened(null);
		if (opened?.from instanceof HTMLElement && opened.from.isConnected) opened.from.focus();
	}, [opened]);

	useEffect(() => {
		const grid = `.sheet-grid[data-sheet="${sheet}"]`;
		const open = (id: string | null | undefined) => {
			if (!id || !find(id)) return false;
			setOpened({ id, from: document.activeElement });
			return true;
		};
		const byKey = (event: KeyboardEvent) => {
			if (event.key !== 'F1' || !event.shiftKey || event.ctrlKey || event.metaKey) return;
			if (!(event.target instanceof Element) || !event.target.closest(grid)) return;
			if (open(event.target.closest('[col-id]')?.getAttribute('col-id'))) event.preventDefault();
		};
		const byHeading = (event: Event) => {
			if (!(event.target instanceof Element) || !event.target.closest(grid)) return;
			open((event as CustomEvent<string>).detail);
		};
		window.addEventListener('keydown', byKey, true);
		window.addEventListener(COLUMN_HELP_EVENT, byHeading);
		return () => {
			window.removeEventListener('keydown', byKey, true);
			window.removeEventListener(COLUMN_HELP_EVENT, byHeading);
		};
	}, [sheet, find]);

	// Beneath its heading as far as there is room; the focus goes in, so that it is read out.
	const id = column?.id;
	useLayoutEffect(() => {
		const element = card.current;
		if (id === undefined || !element) return;
		const heading = document
			.querySelector(
				`.sheet-grid[data-sheet="${sheet}"] .ag-header-cell[col-id="${CSS.escape(id)}"]`,
			)
			?.getBoundingClientRect();
		const left = Math.min(
			Math.max(heading?.left ?? MARGIN_PX, MARGIN_PX),
			window.innerWidth - element.offsetWidth - MARGIN_PX,
		);
		const top = Math.min(
			heading?.bottom ?? MARGIN_PX,
			window.innerHeight - element.offsetHeight - MARGIN_PX,
		);
		element.style.left = `${Math.max(MARGIN_PX, left)}px`;
		element.style.top = `${Math.max(MARGIN_PX, top)}px`;
		element.focus();
	}, [sheet, id]);

	useEffect(() => {
		if (!opened) return;
		const outside = (event: PointerEvent) => {
			if (event.target instanceof Node && card.current?.contains(event.target)) return;
			setOpened(null);
		};
		document.addEventListener('pointerdown', outside);
		return () => document.removeEventListener('pointerdown', outside);
	}, [opened]);

	if (!opened || !column) return null;
	return (
		<section
			ref={card}
			className="column-help"
			role="dialog"
			aria-label={`About ${column.heading}`}
			tabIndex={-1}
			style={{ width: WIDTH_PX }}
			onKeyDown={(event) => {
				event.stopPropagation();
				if (event.key !== 'Escape') return;
				event.preventDefault();
				close();
			}}
		>
			<header>
				<h3>{column.heading}</h3>
				<IconButton label="Close" icon={X} onClick={close} />
			</header>
			<p>{column.help}</p>
			<ColumnFacts column={column} marks={marks} />
			{more?.(column, close)}
		</section>
	);
}
