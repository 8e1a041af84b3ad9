import type { GridApi } from 'ag-grid-community';
import { Sigma } from 'lucide-react';
import { useEffect, useRef, useState } from 'react';
import type { SheetRow } from '../../../calc/sheet/column.ts';
import { afterPaint } from '../../desk/afterpaint.ts';
import { Button } from '../../parts/Button.tsx';
import type { Marks } from '../celltext.ts';
import { useOwnColumns } from './held.ts';
import { OwnColumns } from './OwnColumns.tsx';
import { OWN_COLUMNS_EVENT, type OwnColumnSheet } from './owncolumn.ts';
import { showNewColumn } from './place.ts';

/** Opens the own columns of a sheet: a button among its tools, Alt+=, and from a heading's card. */
export function OwnColumnsTool({
	sheet,
	title,
	marks,
	api,
}: {
	readonly sheet: OwnColumnSheet;
	readonly title: string;
	readonly marks: Marks;
	/** The grid the columns are in, once it stands. */
	readonly api: GridApi<SheetRow> | null;
}) {
	const own = useOwnColumns(sheet);
	const [open, setOpen] = useState<{ readonly begin: string | null } | null>(null);
	useEffect(() => {
		const byKey = (event: KeyboardEvent) => {
			if (!event.altKey || event.ctrlKey || event.metaKey) return;
			// With Option held a Mac types another sign on the same key.
			if (event.key !== '=' && event.code !== 'Equal') return;
			if (document.querySelector('dialog[open]')) return;
			event.preventDefault();
			setOpen({ begin: null });
		};
		const byColumn = (event: Event) => setOpen({ begin: (event as CustomEvent<string>).detail });
		window.addEventListener('keydown', byKey);
		window.addEventListener(OWN_COLUMNS_EVENT, byColumn);
		return () => {
			window.removeEventListener('keydown', byKey);
			window.removeEventListener(OWN_COLUMNS_EVENT, byColumn);
		};
	}, []);
	// The grid puts a column it did not know at its end, out of sight.
	const known = useRef(own);
	useEffect(() => {
		const fresh = own.filter((one) => !known.current.some((before) => before.id === one.id));
		known.current = own;
		if (!api || fresh.length === 0) return;
		afterPaint(() => {
			for (const one of fresh) showNewColumn(api, one.id);
		});
	}, [api, own]);
	return (
		<>
			<Button
				icon={Sigma}
				aria-label="Own columns"
				title="Own columns (Alt+=)"
				onClick={() => setOpen({ begin: null })}
			>
				<span className="own-tool-words">Own columns</span>
				{own.length > 0 && <span>{own.length}</span>}
			</Button>
			{open && (
				<OwnColumns
					sheet={sheet}
					title={title}
					begin={open.begin}
					marks={marks}
					onClose={() => setOpen(null)}
				/>
			)}
		</>
	);
}
