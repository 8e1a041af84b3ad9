import { type KeyboardEvent, useId, useState } from 'react';
import { Field } from '../../parts/Field.tsx';
import { Choices, optionId, stepOf } from './Choices.tsx';
import { unitMeant, unitsFor, unitWords } from './unitsearch.ts';

export interface UnitFieldProps {
	/** As typed or taken; empty for a plain number. */
	readonly value: string;
	readonly onChange: (text: string) => void;
	readonly fault: string | null;
	readonly readOnly: boolean;
}

/** A unit of the table, found by typing its sign, its name or its kind. */
export function UnitField({ value, onChange, fault, readOnly }: UnitFieldProps) {
	const listId = useId();
	const [open, setOpen] = useState(false);
	/** All are offered until something is typed. */
	const [typing, setTyping] = useState(false);
	const [active, setActive] = useState(0);
	const found = open ? unitsFor(typing ? value : '') : [];
	const shown = open && found.length > 0;

	const show = () => {
		if (readOnly || open) return;
		setTyping(false);
		const meant = unitMeant(value);
		setActive(Math.max(0, meant ? unitsFor('').indexOf(meant) : 0));
		setOpen(true);
	};
	const take = (index: number) => {
		const one = found[index];
		if (!one) return;
		onChange(one.id === '1' ? '' : one.label);
		setOpen(false);
	};
	const keys = (event: KeyboardEvent) => {
		if (readOnly) return;
		if (!shown) {
			if (event.key !== 'ArrowDown') return;
			event.preventDefault();
			show();
			return;
		}
		const to = stepOf(event.key, active, found.length);
		if (to !== null) setActive(to);
		else if (event.key === 'Enter') take(active);
		else if (event.key === 'Tab' && typing) {
			take(active);
			return;
		} else if (event.key === 'Escape') {
			event.stopPropagation();
			setOpen(false);
		} else return;
		event.preventDefault();
	};

	return (
		<Field
			label="Unit"
			fault={fault ?? (value !== '' && !unitMeant(value) && !shown ? NO_SUCH : null)}
			help={value.trim() === '' ? 'Empty: a plain number.' : null}
		>
			{({ id, describedBy }) => (
				<div className="choices-anchor">
					<input
						id={id}
						type="text"
						role="combobox"
						autoComplete="off"
						spellCheck={false}
						value={value}
						readOnly={readOnly}
						aria-expanded={shown}
						aria-controls={listId}
						aria-autocomplete="list"
						aria-activedescendant={shown ? optionId(listId, active) : undefined}
						aria-invalid={fault ? true : undefined}
						aria-describedby={describedBy}
						onClick={show}
						onChange={(event) => {
							onChange(event.target.value);
							setTyping(true);
							setActive(0);
							setOpen(true);
						}}
						onBlur={() => setOpen(false)}
						onKeyDown={keys}
					/>
					{shown && (
						<Choices
							id={listId}
							label="Units"
							choices={found.map((one) => ({
								key: one.id,
								main: unitWords(one),
								right: one.dimension,
							}))}
							active={active}
							onTake={take}
						/>
					)}
				</div>
			)}
		</Field>
	);
}

const NO_SUCH = 'There is no unit of that name. Type its sign or what it measures and choose one.';
