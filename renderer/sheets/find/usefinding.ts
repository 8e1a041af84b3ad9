import { useEffect, useRef, useState } from 'react';
import type { Column, SheetRow } from '../../../calc/sheet/column.ts';
import { useDeskStore } from '../../desk/desk.tsx';
import type { Arranging } from '../arrange/usearrange.ts';
import type { Marks } from '../celltext.ts';
import { type Hit, type Sought, searching } from './finding.ts';

export interface Found {
	/** Hits of what is sought now; null while it is being looked for. */
	readonly hits: readonly Hit[] | null;
	/** Rows and columns looked at, in the order of the screen. */
	readonly rows: readonly SheetRow[];
	readonly columns: readonly Column[];
}

const NOTHING: Found = { hits: [], rows: [], columns: [] };
/** Time taken at a stretch, ms; keys and paint come between. */
const SLICE_MS = 10;
/** Rows that change one after the other are looked through once. */
const CALM_MS = 120;

/** The columns in sight, or the one of them that is meant. */
function columnsLookedAt({ api, columns }: Arranging, only: string | null): readonly Column[] {
	if (!api || api.isDestroyed()) return [];
	return api.getAllDisplayedColumns().flatMap((shown) => {
		const column = columns.find(({ id }) => id === shown.getColId());
		return column && (only === null || column.id === only) ? [column] : [];
	});
}

/** Looks through the rows and columns on screen, and again whenever something of them changes. */
export function useFinding(
	arranging: Arranging,
	sought: Sought,
	only: string | null,
	marks: Marks,
): Found {
	const { api, rows: view, sheet, arrangement } = arranging;
	const store = useDeskStore();
	const [found, setFound] = useState<Found>(NOTHING);
	const [changes, setChanges] = useState(0);
	const now = useRef(arranging);
	now.current = arranging;

	useEffect(() => {
		let timer: ReturnType<typeof setTimeout> | undefined;
		const end = store.onRows(sheet, () => {
			clearTimeout(timer);
			timer = setTimeout(() => setChanges((n) => n + 1), CALM_MS);
		});
		return () => {
			end();
			clearTimeout(timer);
		};
	}, [store, sheet]);

	// biome-ignore lint/correctness/useExhaustiveDependencies: changes of rows and of their arrangement are what looks again
	useEffect(() => {
		if (sought.text === '' || !api || api.isDestroyed()) {
			setFound(NOTHING);
			return;
		}
		let timer: ReturnType<typeof setTimeout> | undefined;
		const rows = view.rowsInOrder();
		const columns = columnsLookedAt(now.current, only);
		const search = searching(rows, columns, sought, marks);
		const go = () => {
			const until = performance.now() + SLICE_MS;
			while (performance.now() < until) {
				const step = search.next();
				if (step.done) {
					setFound({ hits: step.value, rows, columns });
					return;
				}
			}
			setFound((held) => (held.hits === null ? held : { hits: null, rows, columns }));
			timer = setTimeout(go);
		};
		go();
		return () => clearTimeout(timer);
	}, [api, view, sought, only, marks, changes, arrangement]);

	return found;
}
