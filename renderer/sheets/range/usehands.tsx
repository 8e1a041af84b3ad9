import type { GridApi } from 'ag-grid-community';
import { type ReactNode, type RefObject, useCallback, useEffect, useRef, useState } from 'react';
import type { Column, EnteredSheetId, SheetId, SheetRow } from '../../../calc/sheet/column.ts';
import { useCallDesk } from '../../desk/desk.tsx';
import { tell } from '../../parts/Toast.tsx';
import type { Marks } from '../celltext.ts';
import { AskFirst } from './AskFirst.tsx';
import { type Gesture, gestureLabel } from './gesture.ts';
import { type HandSheet, Hands, type Question } from './hands.ts';
import { RefusedCells, type RefusedGesture } from './RefusedCells.tsx';
import { RangeStore } from './rangestore.ts';

export interface HandsOptions {
	readonly sheet: SheetId;
	readonly box: RefObject<HTMLElement | null>;
	readonly marks: Marks;
	readonly editable: boolean;
	readonly takesRows: boolean;
	/** Columns of the sheet, shown or not. */
	readonly columns: readonly Column[];
	/** Told what is to be said of the chosen cells. */
	readonly range: RangeStore | undefined;
	readonly duplicate: HandSheet['duplicate'];
	readonly insert: HandSheet['insert'];
}

export interface HandsOnGrid {
	/** Takes the grid in hand once it stands. */
	readonly take: (api: GridApi<SheetRow>) => void;
	readonly hands: RefObject<Hands | null>;
	/** What is asked and what was refused. */
	readonly dialogs: ReactNode;
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

/** Blocks of cells on the grid of a sheet: choosing, copying, pasting, filling, clearing. */
export function useHands(options: HandsOptions): HandsOnGrid {
	const callDesk = useCallDesk();
	const hands = useRef<Hands | null>(null);
	const api = useRef<GridApi<SheetRow> | null>(null);
	const [question, setQuestion] = useState<Question | null>(null);
	const [refused, setRefused] = useState<RefusedGesture | null>(null);
	const own = useRef(new RangeStore());
	const { sheet, box } = options;

	const perform = useCallback(
		async (gesture: Gesture): Promise<boolean> => {
			const label = gestureLabel(gesture);
			const reply = await callDesk('sheet.edit', {
				sheet: sheet as EnteredSheetId,
				edits: [...gesture.edits],
				...(gesture.added.length > 0 ? { add: [...gesture.added] } : {}),
				typed: { decimal: gesture.decimal },
				...(label === undefined ? {} : { label }),
			});
			if (!reply.ok) {
				tell('stop', `Nothing was ${gesture.done}. ${reply.message}`);
				return false;
			}
			const { changes, refused: refusals } = reply.value;
			setRefused(refusals.length > 0 ? { gesture, refused: refusals } : null);
			if (refusals.length > 0) return false;
			if (gesture.leftOut.length > 0)
				tell(
					'note',
					`${capital(changes?.label ?? gesture.done)}; left out: ${gesture.leftOut.join(', ')}.`,
				);
			return true;
		},
		[callDesk, sheet],
	);

	const columnOf = (id: string) => options.columns.find((column) => column.id === id);
	const now = useRef<HandSheet>(null as unknown as HandSheet);
	now.current = {
		marks: options.marks,
		editable: options.editable,
		takesRows: options.takesRows,
		columnOf,
		perform,
		ask: setQuestion,
		duplicate: options.duplicate,
		insert: options.insert,
	};

	const range = options.range ?? own.current;
	const take = useCallback(
		(grid: GridApi<SheetRow>) => {
			api.current = grid;
			hands.current?.end();
			if (box.current) hands.current = new Hands(grid, box.current, () => now.current, range);
		},
		[box, range],
	);
	useEffect(
		() => () => {
			hands.current?.end();
			hands.current = null;
		},
		[],
	);

	const dialogs = (
		<>
			{question && <AskFirst question={question} onClose={() => setQuestion(null)} />}
			{refused && (
				<RefusedCells
					key={`${refused.gesture.decimal} ${refused.refused.length}`}
					{...refused}
					columnOf={columnOf}
					placeOf={(row) => {
						const at = api.current?.getRowNode(String(row))?.rowIndex;
						return typeof at === 'number' ? at + 1 : null;
					}}
					onTry={(gesture) => void perform(gesture)}
					onClose={() => setRefused(null)}
				/>
			)}
		</>
	);
	return { take, hands, dialogs };
}
