import {
	createContext,
	type ReactNode,
	useCallback,
	useContext,
	useEffect,
	useMemo,
	useSyncExternalStore,
} from 'react';
import type { SheetId, SheetRow } from '../../calc/sheet/column.ts';
import type { Answer, Ask, DocumentState, Reply, VerbName } from '../../electron/contract/verbs.ts';
import type { DeskStore, DeskView, Selection, SheetView } from './store.ts';

const DeskContext = createContext<DeskStore | null>(null);

/** Hands the store to everything inside. */
export function DeskProvider({
	store,
	children,
}: {
	readonly store: DeskStore;
	readonly children: ReactNode;
}) {
	return <DeskContext value={store}>{children}</DeskContext>;
}

/** The store itself, for grids that follow rows without rendering. */
export function useDeskStore(): DeskStore {
	const store = useContext(DeskContext);
	if (!store) throw new Error('no desk above this component');
	return store;
}

function useView<T>(pick: (view: DeskView) => T): T {
	const store = useDeskStore();
	return useSyncExternalStore(store.subscribe, () => pick(store.view()));
}

/** Everything known of the desk; rendered again at each change. Pick less where it matters. */
export function useDesk(): DeskView {
	return useView((view) => view);
}

/** One value picked from the view; rendered again only when it changes (it must be stable by ===). */
export function useDeskValue<T>(pick: (view: DeskView) => T): T {
	return useView(pick);
}

/** The open document, or null. */
export function useDocument(): DocumentState | null {
	return useView((view) => view.state?.document ?? null);
}

export function useSelection(): Selection {
	return useView((view) => view.selection);
}

/** Moves with every change of the document: put it among the dependencies of whatever is asked. */
export function useSeq(): number {
	return useView((view) => view.seq);
}

/** A sheet's view; its rows are asked for if they are not held yet. */
export function useSheet(sheet: SheetId): SheetView {
	const store = useDeskStore();
	const view = useView((all) => all.sheets[sheet]);
	const open = useView((all) => all.state?.document != null);
	useEffect(() => {
		if (open && view.status === 'idle') store.need(sheet);
	}, [store, sheet, open, view.status]);
	return view;
}

/** Rows of a small sheet (drive, ground, meters), rendered again when they change. */
export function useSheetRows(sheet: SheetId): readonly SheetRow[] {
	const store = useDeskStore();
	const { version } = useSheet(sheet);
	// biome-ignore lint/correctness/useExhaustiveDependencies: the version stands for the rows, which change in place
	return useMemo(() => Array.from(store.rowsOf(sheet).values()), [store, sheet, version]);
}

export type CallDesk = <V extends VerbName>(verb: V, ask: Ask<V>) => Promise<Reply<Answer<V>>>;

/** The function that asks the desk. Stable. */
export function useCallDesk(): CallDesk {
	const store = useDeskStore();
	return useCallback((verb, ask) => store.call(verb, ask), [store]);
}

/** Stable function that puts something else in the person's hand. */
export function useSelect(): (part: Partial<Selection>) => void {
	const store = useDeskStore();
	return useCallback((part) => store.select(part), [store]);
}
