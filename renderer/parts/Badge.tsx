import type { ReactNode } from 'react';
import { STATUS_ICON, type Status } from './Notice.tsx';

/** A short standing remark beside a title. */
export function Badge({
	status,
	hint,
	children,
}: {
	readonly status: Status;
	readonly hint?: string | undefined;
	readonly children: ReactNode;
}) {
	const Icon = STATUS_ICON[status];
	return (
		<span className="badge" data-status={status} title={hint}>
			<Icon size={12} aria-hidden />
			{children}
		</span>
	);
}
