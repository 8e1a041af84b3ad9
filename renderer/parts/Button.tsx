import { LoaderCircle, type LucideIcon } from 'lucide-react';
import type { ButtonHTMLAttributes, Ref } from 'react';

export interface ButtonProps extends Omit<ButtonHTMLAttributes<HTMLButtonElement>, 'type'> {
	/** `primary`: the one thing to do here; `quiet`: beside text; `danger`: takes something away. */
	readonly tone?: 'plain' | 'primary' | 'quiet' | 'danger';
	readonly icon?: LucideIcon;
	/** Shows that the work is going on and keeps it from being started twice. */
	readonly busy?: boolean;
	readonly submit?: boolean;
	readonly ref?: Ref<HTMLButtonElement>;
}

/** A button with words on it. */
export function Button({
	tone = 'plain',
	icon: Icon,
	busy = false,
	submit = false,
	disabled,
	className,
	children,
	...rest
}: ButtonProps) {
	return (
		<button
			{...rest}
			type={submit ? 'submit' : 'button'}
			className={className ? `button ${className}` : 'button'}
			data-tone={tone}
			disabled={disabled || busy}
			aria-busy={busy || undefined}
		>
			{busy ? (
				<LoaderCircle size={16} className="spinner" aria-hidden />
			) : (
				Icon && <Icon size={16} aria-hidden />
			)}
			{children}
		</button>
	);
}
