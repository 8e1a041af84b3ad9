import type { LucideIcon } from 'lucide-react';
import type { ReactNode } from 'react';

export interface EmptyStateProps {
	readonly icon: LucideIcon;
	readonly title: string;
	/** What to do about it. */
	readonly children?: ReactNode;
	readonly actions?: ReactNode;
}

/** A place with nothing in it yet, saying why and what to do. */
export function EmptyState({ icon: Icon, title, children, actions }: EmptyStateProps) {
	return (
		<div className="empty-state">
			<Icon size={32} strokeWidth={1.5} aria-hidden />
			<h2 className="empty-state-title">{title}</h2>
			{children && <div className="empty-state-text">{children}</div>}
			{actions && <div className="empty-state-actions">{actions}</div>}
		</div>
	);
}
