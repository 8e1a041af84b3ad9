import { X } from 'lucide-react';
import { type ReactNode, useEffect, useId, useRef } from 'react';
import { IconButton } from './IconButton.tsx';

export interface DialogProps {
	readonly title: string;
	/** Asked for by Escape, the close button and the browser; the owner takes the dialog away. */
	readonly onClose: () => void;
	/** Buttons at the foot, the main one last. */
	readonly footer?: ReactNode;
	/** Width in px; never wider than the window. */
	readonly width?: number;
	/** While true the dialog cannot be closed: something is being written. */
	readonly locked?: boolean;
	readonly children: ReactNode;
}

/**
 * A modal dialog on the browser's own <dialog>: it keeps the focus inside, makes the rest inert and
 * gives the focus back to where it came from.
 */
export function Dialog({
	title,
	onClose,
	footer,
	width = 520,
	locked = false,
	children,
}: DialogProps) {
	const dialog = useRef<HTMLDialogElement>(null);
	const titleId = useId();

	useEffect(() => {
		const element = dialog.current;
		if (!element) return;
		const cameFrom = document.activeElement;
		if (!element.open) element.showModal();
		return () => {
			element.close();
			if (cameFrom instanceof HTMLElement && cameFrom.isConnected) cameFrom.focus();
		};
	}, []);

	return (
		<dialog
			ref={dialog}
			className="dialog"
			aria-labelledby={titleId}
			style={{ '--dialog-width': `${width}px` } as React.CSSProperties}
			onCancel={(event) => {
				event.preventDefault();
				if (!locked) onClose();
			}}
			onKeyDown={(event) => event.stopPropagation()}
		>
			<header>
				<h2 id={titleId}>{title}</h2>
				<IconButton label="Close" icon={X} onClick={onClose} disabled={locked} />
			</header>
			<div className="dialog-body">{children}</div>
			{footer !== undefined && <footer>{footer}</footer>}
		</dialog>
	);
}
