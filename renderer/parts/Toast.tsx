import { X } from 'lucide-react';
import { useEffect, useSyncExternalStore } from 'react';
import { IconButton } from './IconButton.tsx';
import { Notice, type Status } from './Notice.tsx';

interface Toast {
	readonly key: number;
	readonly status: Status;
	readonly text: string;
}

const STAYS_ms = 6000;
let shown: readonly Toast[] = [];
let nextKey = 1;
const hearers = new Set<() => void>();

function set(toasts: readonly Toast[]) {
	shown = toasts;
	for (const hear of hearers) hear();
}

/** Tell the person something in passing. Faults (`stop`) stay until they are closed. */
export function tell(status: Status, text: string): void {
	set(
		[...shown.filter((toast) => toast.text !== text), { key: nextKey++, status, text }].slice(-4),
	);
}

const close = (key: number) => set(shown.filter((toast) => toast.key !== key));

function OneToast({ toast }: { readonly toast: Toast }) {
	useEffect(() => {
		if (toast.status === 'stop') return;
		const timer = setTimeout(() => close(toast.key), STAYS_ms);
		return () => clearTimeout(timer);
	}, [toast]);
	return (
		<Notice
			status={toast.status}
			actions={<IconButton label="Close this message" icon={X} onClick={() => close(toast.key)} />}
		>
			{toast.text}
		</Notice>
	);
}

/** Where messages appear; stands once in the page. */
export function ToastShelf() {
	const toasts = useSyncExternalStore(
		(hear) => {
			hearers.add(hear);
			return () => hearers.delete(hear);
		},
		() => shown,
	);
	return (
		<section className="toast-shelf" aria-label="Messages" aria-live="polite">
			{toasts.map((toast) => (
				<OneToast key={toast.key} toast={toast} />
			))}
		</section>
	);
}
