import { X } from 'lucide-react';
import { findColumn } from '../../calc/sheet/catalogue.ts';
import type { SheetId } from '../../calc/sheet/column.ts';
import type { EditRefusal } from '../../electron/contract/verbs.ts';
import { IconButton } from '../parts/IconButton.tsx';
import { Notice } from '../parts/Notice.tsx';

export interface RefusalListProps {
	readonly sheet: SheetId;
	/** What was not done, e.g. "Nothing was deleted". */
	readonly title: string;
	readonly refused: readonly EditRefusal[];
	readonly onClose: () => void;
}

const SHOWN = 6;

/** All refusals of one gesture: either everything was taken or nothing, so each is a reason. */
export function RefusalList({ sheet, title, refused, onClose }: RefusalListProps) {
	if (refused.length === 0) return null;
	return (
		<div className="refusal-list">
			<Notice
				status="stop"
				title={title}
				actions={<IconButton label="Close this list" icon={X} onClick={onClose} />}
			>
				<ul>
					{refused.slice(0, SHOWN).map((refusal) => (
						<li key={`${refusal.row}/${refusal.column}/${refusal.fault.code}`}>
							<strong>{findColumn(sheet, refusal.column)?.heading ?? refusal.column}</strong>:{' '}
							{refusal.fault.message}
							{refusal.fault.where.expected ? ` Expected ${refusal.fault.where.expected}.` : ''}
						</li>
					))}
				</ul>
				{refused.length > SHOWN && <p>and {refused.length - SHOWN} more</p>}
			</Notice>
		</div>
	);
}
