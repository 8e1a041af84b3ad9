import { CircleAlert } from 'lucide-react';
import { type InputHTMLAttributes, type ReactNode, type Ref, useId } from 'react';

export interface FieldFrameProps {
	readonly label: string;
	readonly help?: ReactNode;
	/** Why the entry is refused; shown at the field and tied to it for screen readers. */
	readonly fault?: string | null;
	/** Says so beside the label when the field may stay empty. */
	readonly optional?: boolean;
	/** Shown fixed behind the entry. */
	readonly unit?: string | null;
	readonly children: (ids: { id: string; describedBy: string | undefined }) => ReactNode;
}

/** Label, entry, unit, help and fault of one field, tied together. */
export function Field({ label, help, fault, optional, unit, children }: FieldFrameProps) {
	const id = useId();
	const helpId = `${id}-help`;
	const faultId = `${id}-fault`;
	const describedBy =
		[fault ? faultId : null, help ? helpId : null].filter(Boolean).join(' ') || undefined;
	return (
		<div className="field">
			<label htmlFor={id}>
				{label} {optional && <span className="field-need">(may stay empty)</span>}
			</label>
			<div className="field-row">
				{children({ id, describedBy })}
				{unit && <span className="field-unit">{unit}</span>}
			</div>
			{fault && (
				<div className="field-fault" id={faultId} role="alert">
					<CircleAlert size={14} aria-hidden />
					<span>{fault}</span>
				</div>
			)}
			{help && (
				<div className="field-help" id={helpId}>
					{help}
				</div>
			)}
		</div>
	);
}

export interface TextFieldProps
	extends Omit<InputHTMLAttributes<HTMLInputElement>, 'onChange' | 'value' | 'id'> {
	readonly label: string;
	readonly value: string;
	readonly onChange: (text: string) => void;
	readonly help?: ReactNode;
	readonly fault?: string | null;
	readonly optional?: boolean;
	readonly unit?: string | null;
	readonly ref?: Ref<HTMLInputElement>;
}

/** One line of text. */
export function TextField({
	label,
	value,
	onChange,
	help,
	fault,
	optional,
	unit,
	...rest
}: TextFieldProps) {
	return (
		<Field
			label={label}
			help={help}
			fault={fault ?? null}
			optional={optional ?? false}
			unit={unit ?? null}
		>
			{({ id, describedBy }) => (
				<input
					autoComplete="off"
					spellCheck={false}
					type="text"
					{...rest}
					id={id}
					value={value}
					aria-invalid={fault ? true : undefined}
					aria-describedby={describedBy}
					onChange={(event) => onChange(event.target.value)}
				/>
			)}
		</Field>
	);
}

/**
 * A number as typed: the text is kept as it is and read by the desk, never by the browser, so that
 * "1.18", "1,18" and "1180 kg/m³" all reach the one parser.
 */
export function NumberField(props: TextFieldProps) {
	return <TextField {...props} inputMode="decimal" data-number="" />;
}
