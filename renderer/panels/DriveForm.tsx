import './panels.css';
import { CircleCheck, Lock, Settings2 } from 'lucide-react';
import { useMemo } from 'react';
import { columnsOf } from '../../calc/sheet/catalogue.ts';
import { useDeskStore, useDocument, useSheet, useSheetRows } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { EmptyState } from '../parts/EmptyState.tsx';
import { Notice } from '../parts/Notice.tsx';
import { Spinner } from '../parts/Progress.tsx';
import { DriveField } from './DriveField.tsx';
import { driveGroups } from './drivegroups.ts';

/** Settings of the drive as a form made from the catalogue; every field is stored as soon as it is left. */
export function DriveForm() {
	const store = useDeskStore();
	const document = useDocument();
	const sheet = useSheet('drive');
	const row = useSheetRows('drive')[0];
	const groups = useMemo(() => driveGroups(columnsOf('drive')), []);

	if (sheet.status === 'error') {
		return (
			<EmptyState
				icon={Settings2}
				title="The drive's settings could not be read"
				actions={<Button onClick={() => void store.read('drive', null)}>Try again</Button>}
			>
				{sheet.message}
			</EmptyState>
		);
	}
	if (!row) {
		return (
			<div className="drive-wait">
				<Spinner label="Reading the drive's settings…" />
			</div>
		);
	}
	const readOnly = document?.readOnly ?? true;
	return (
		<div className="drive-form">
			{readOnly ? (
				<Notice status="info" title="Read-only">
					<Lock size={12} aria-hidden />{' '}
					{document?.readOnlyWhy ?? 'This project cannot be written.'}
				</Notice>
			) : (
				<p className="soft drive-stored">
					<CircleCheck size={14} aria-hidden /> Each entry is stored when you leave its field, and
					every ring that depends on it is worked out again. Undo takes it back.
				</p>
			)}
			{groups.map((group) => (
				<fieldset key={group.title} className="drive-group">
					<legend>
						<span>{group.title}</span>
						<span className="soft">{group.says}</span>
					</legend>
					<div className="drive-fields">
						{group.columns.map((column) => (
							<DriveField
								key={column.id}
								column={column}
								row={row.id}
								value={row.cells[column.id] ?? null}
								flags={row.flags?.[column.id] ?? []}
								readOnly={readOnly}
							/>
						))}
					</div>
				</fieldset>
			))}
		</div>
	);
}
