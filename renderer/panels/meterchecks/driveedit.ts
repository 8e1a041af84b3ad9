import { useCallback, useState } from 'react';
import { useCallDesk, useSheetRows } from '../../desk/desk.tsx';
import { DECIMAL } from '../../look/marks.ts';
import { tell } from '../../parts/Toast.tsx';

/** Changes one setting of the drive; what is refused is told in passing. True when it was taken. */
export function useDriveEdit(): {
	readonly busy: boolean;
	readonly edit: (column: string, text: string, why?: string) => Promise<boolean>;
} {
	const callDesk = useCallDesk();
	const row = useSheetRows('drive')[0]?.id;
	const [busy, setBusy] = useState(false);
	const edit = useCallback(
		async (column: string, text: string, why?: string) => {
			if (row === undefined) return false;
			setBusy(true);
			const reply = await callDesk('sheet.edit', {
				sheet: 'drive',
				edits: [{ row, column, text }],
				typed: { decimal: DECIMAL },
				...(why === undefined ? {} : { why }),
			});
			setBusy(false);
			const said = reply.ok ? reply.value.refused[0]?.fault.message : reply.message;
			if (said === undefined) return true;
			tell('stop', said);
			return false;
		},
		[callDesk, row],
	);
	return { busy: busy || row === undefined, edit };
}
