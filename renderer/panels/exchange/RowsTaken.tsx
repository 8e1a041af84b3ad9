import type { SheetTaken } from '../../../electron/contract/sheetexchange.ts';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { FaultTable } from '../FaultTable.tsx';
import { rowsText } from './words.ts';

/** What an import has made of the sheet. */
export function RowsTaken({
	taken,
	onClose,
}: {
	readonly taken: SheetTaken;
	readonly onClose: () => void;
}) {
	const { added, updated, same, skipped, faulty, faults, moreFaults } = taken;
	const rest = [
		...(same > 0 ? [`${rowsText(same)} there already, the same`] : []),
		...(skipped > 0 ? [`${rowsText(skipped)} skipped`] : []),
		...(faulty > 0 ? [`${rowsText(faulty)} left out`] : []),
	];
	return (
		<Dialog
			title={taken.label === null ? 'Everything was there already' : 'The rows are taken'}
			onClose={onClose}
			width={faults.length > 0 ? 1000 : 520}
			footer={
				<Button tone="primary" onClick={onClose}>
					Done
				</Button>
			}
		>
			<Notice status="good">
				{rowsText(added)} new, {rowsText(updated)} updated.
				{taken.label !== null && ' Ctrl+Z takes all of it back.'}
			</Notice>
			{rest.length > 0 && <p className="exchange-rest">{rest.join(', ')}.</p>}
			{faults.length > 0 && (
				<FaultTable
					faults={faults}
					more={moreFaults}
					caption="Rows with a fault were left out; rows with a note were taken."
				/>
			)}
		</Dialog>
	);
}
