import { CircleAlert, CircleCheck, Info, type LucideIcon, TriangleAlert } from 'lucide-react';
import type { ReactNode } from 'react';

export type Status = 'info' | 'note' | 'stop' | 'good';

export const STATUS_ICON: Readonly<Record<Status, LucideIcon>> = {
	info: Info,
	note: TriangleAlert,
	stop: CircleAlert,
	good: CircleCheck,
};

export interface NoticeProps {
	readonly status: Status;
	readonly title?: string;
	readonly children?: ReactNode;
	readonly actions?: ReactNode;
}

/** Something to be told, with an icon and a word; colour only supports it. Refusals are read out at once. */
export function Notice({ status, title, children, actions }: NoticeProps) {
	const Icon = STATUS_ICON[status];
	return (
		<div className="notice" data-status={status} role={status === 'stop' ? 'alert' : 'status'}>
			<Icon size={16} aria-hidden />
			<div>
				{title && <div className="notice-title">{title}</div>}
				{children}
			</div>
			{actions && <div className="notice-actions">{actions}</div>}
		</div>
	);
}
