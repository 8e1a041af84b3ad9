import type { LucideIcon } from 'lucide-react';
import type { ButtonHTMLAttributes, Ref } from 'react';

export interface IconButtonProps
	extends Omit<ButtonHTMLAttributes<HTMLButtonElement>, 'type' | 'aria-label' | 'title'> {
	/** Read out by screen readers and shown on hover. */
	readonly label: string;
	/** What is shown on hover when it says more than the label, e.g. with the key. */
	readonly hint?: string;
	readonly icon: LucideIcon;
	/** For a switch: whether it is on. */
	readonly pressed?: boolean;
	readonly ref?: Ref<HTMLButtonElement>;
}

/** A button that shows only an icon; its label is always there for those who do not see it. */
export function IconButton({
	label,
	hint,
	icon: Icon,
	pressed,
	className,
	...rest
}: IconButtonProps) {
	return (
		<button
			{...rest}
			type="button"
			className={className ? `icon-button ${className}` : 'icon-button'}
			aria-label={label}
			aria-pressed={pressed}
			title={hint ?? label}
		>
			<Icon size={18} aria-hidden />
		</button>
	);
}
