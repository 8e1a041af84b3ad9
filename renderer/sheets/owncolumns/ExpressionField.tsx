import { CircleAlert, Ellipsis } from 'lucide-react';
import {
	type KeyboardEvent,
	type ReactNode,
	type Ref,
	useEffect,
	useId,
	useImperativeHandle,
	useLayoutEffect,
	useRef,
	useState,
} from 'react';
import type {
	FormulaFaultMessage,
	FormulaSuggestAnswer,
} from '../../../electron/contract/formulas.ts';
import { useCallDesk } from '../../desk/desk.tsx';
import { Button } from '../../parts/Button.tsx';
import { Choices, optionId, stepOf } from './Choices.tsx';
import { markedText, oneLine, placeWords } from './markedtext.ts';
import { offersMore } from './offers.ts';
import type { OwnColumnSheet } from './owncolumn.ts';

export interface ExpressionFieldProps {
	readonly sheet: OwnColumnSheet;
	/** Row of the column that is being changed; null for a new one. */
	readonly row: number | null;
	readonly value: string;
	readonly onChange: (text: string) => void;
	readonly fault: FormulaFaultMessage | null;
	/** A refusal of the desk that says nothing about the place. */
	readonly refused: string | null;
	readonly readOnly: boolean;
	/** Storing it was tried: what is not finished is a fault now. */
	readonly tried: boolean;
	/** What the formula gives, said beneath it. */
	readonly children?: ReactNode;
	readonly ref?: Ref<ExpressionHandle>;
}

export interface ExpressionHandle {
	focus(at?: number): void;
	/** Puts a text in at the caret. */
	insert(text: string): void;
}

const LONGEST = 2000;

/**
 * A formula in one line that wraps. While typing, columns, functions and units are offered: arrows
 * choose, Enter or Tab take, Escape puts them away, Ctrl+Space asks for them. What is wrong is marked
 * at its place.
 */
export function ExpressionField({
	sheet,
	row,
	value,
	onChange,
	fault,
	refused,
	readOnly,
	tried,
	children,
	ref,
}: ExpressionFieldProps) {
	const callDesk = useCallDesk();
	const id = useId();
	const listId = `${id}-offers`;
	const field = useRef<HTMLTextAreaElement>(null);
	const [answer, setAnswer] = useState<FormulaSuggestAnswer | null>(null);
	const [open, setOpen] = useState(false);
	const [active, setActive] = useState(0);
	const asking = useRef(0);
	const asked = useRef('');
	const caretAfter = useRef<number | null>(null);
	const offers = open && answer ? answer.offers : [];
	const shown = offers.length > 0;
	const inside = answer?.inside ?? null;

	useImperativeHandle(ref, () => ({
		focus(at) {
			field.current?.focus();
			if (at !== undefined) field.current?.setSelectionRange(at, at);
		},
		insert(text) {
			const element = field.current;
			if (!element || readOnly) return;
			put(text, element.selectionStart, element.selectionEnd, text.length);
			element.focus();
		},
	}));

	/** `show`: offers appear for what is being typed; `all`: also where nothing is typed yet. */
	const ask = async (expression: string, caret: number, show: 'no' | 'typed' | 'all') => {
		const turn = ++asking.current;
		asked.current = `${caret} ${expression}`;
		const reply = await callDesk('formula.suggest', {
			sheet,
			expression,
			caret,
			...(row === null ? {} : { row }),
		});
		if (turn !== asking.current) return;
		setAnswer(reply.ok ? reply.value : null);
		setActive(0);
		setOpen(
			reply.ok && (show === 'all' || (show === 'typed' && offersMore(expression, reply.value))),
		);
	};

	/** Puts a text in place of a stretch and the caret into it. */
	const put = (text: string, from: number, to: number, caret: number) => {
		caretAfter.current = from + caret;
		onChange((value.slice(0, from) + text + value.slice(to)).slice(0, LONGEST));
	};
	useLayoutEffect(() => {
		const at = caretAfter.current;
		if (at === null || field.current?.value !== value) return;
		caretAfter.current = null;
		field.current.setSelectionRange(at, at);
	}, [value]);

	const take = (index: number) => {
		const offer = offers[index];
		if (!offer || !answer) return;
		setOpen(false);
		put(offer.insert, answer.from, answer.to, offer.caret);
		const text = value.slice(0, answer.from) + offer.insert + value.slice(answer.to);
		void ask(text, answer.from + offer.caret, 'no');
	};

	const keys = (event: KeyboardEvent<HTMLTextAreaElement>) => {
		const { selectionStart } = event.currentTarget;
		if (event.key === ' ' && event.ctrlKey && !readOnly) {
			event.preventDefault();
			void ask(value, selectionStart, 'all');
			return;
		}
		// The sheet behind takes it to save; a line end has no meaning in a formula.
		if (event.key === 'Enter' && (event.ctrlKey || event.metaKey)) return;
		if (!shown) {
			if (event.key === 'Enter') event.preventDefault();
			return;
		}
		const to = stepOf(event.key, active, offers.length);
		if (to !== null) setActive(to);
		else if (event.key === 'Enter' || (event.key === 'Tab' && !event.shiftKey)) take(active);
		else if (event.key === 'Escape') {
			event.stopPropagation();
			setOpen(false);
		} else {
			return;
		}
		event.preventDefault();
	};

	// Faults of a text that is no longer there are of no use; the desk's next answer brings its own.
	const marked = fault ? markedText(value, fault.from, fault.to) : null;
	// Half a formula is nothing wrong as long as it is being typed.
	const unfinished = marked?.atEnd === true && !tried;
	const wrong = (fault !== null && !unfinished) || refused !== null;
	const faultId = `${id}-fault`;
	const resultId = `${id}-result`;

	useEffect(() => {
		if (readOnly) setOpen(false);
	}, [readOnly]);

	return (
		<div className="field own-expression" data-unfinished={unfinished || undefined}>
			<label htmlFor={id}>Formula</label>
			<div className="choices-anchor">
				<div className="expression-box" data-refused={wrong || undefined}>
					<div className="expression-mirror" aria-hidden="true">
						{marked ? (
							<>
								{marked.before}
								<mark data-at-end={marked.atEnd || undefined}>{marked.marked}</mark>
								{marked.after}
							</>
						) : (
							value
						)}
						{'\u200b'}
					</div>
					<textarea
						id={id}
						ref={field}
						rows={1}
						spellCheck={false}
						autoComplete="off"
						autoCapitalize="off"
						maxLength={LONGEST}
						value={value}
						readOnly={readOnly}
						aria-autocomplete="list"
						aria-controls={shown ? listId : undefined}
						aria-activedescendant={shown ? optionId(listId, active) : undefined}
						aria-invalid={wrong || undefined}
						aria-describedby={`${faultId} ${resultId}`}
						onChange={(event) => {
							const text = oneLine(event.target.value);
							const caret = event.target.selectionStart;
							if (text !== event.target.value) caretAfter.current = caret;
							onChange(text);
							void ask(text, Math.min(caret, text.length), 'typed');
						}}
						onSelect={(event) => {
							const { selectionStart, value: text } = event.currentTarget;
							if (readOnly || asked.current === `${selectionStart} ${text}`) return;
							setOpen(false);
							void ask(text, selectionStart, 'no');
						}}
						onBlur={() => setOpen(false)}
						onKeyDown={keys}
					/>
				</div>
				{shown && (
					<Choices
						id={listId}
						label="Offers"
						choices={offers.map((offer) => ({
							key: `${offer.kind} ${offer.label}`,
							main: offer.label,
							beside: offer.detail,
							right: KIND_WORDS[offer.kind],
						}))}
						active={active}
						onTake={take}
						foot={offers[active]?.help}
					/>
				)}
			</div>
			<div className="out-of-sight" role="status">
				{shown ? `${offers.length} offers; ${offers[active]?.label}` : ''}
			</div>
			{inside && !shown && !fault && (
				<div className="field-help expression-inside">
					<strong>{inside.form}</strong> {inside.help}
				</div>
			)}
			<div id={faultId} aria-live="polite">
				{fault && marked && (
					<div className="field-fault">
						{unfinished ? (
							<Ellipsis size={14} aria-hidden />
						) : (
							<CircleAlert size={14} aria-hidden />
						)}
						<span>
							{fault.message}
							{fault.expected ? ` Expected ${fault.expected}.` : ''}{' '}
							<Button
								tone="quiet"
								className="expression-place"
								onClick={() => {
									field.current?.focus();
									field.current?.setSelectionRange(
										marked.before.length,
										marked.atEnd
											? marked.before.length
											: marked.before.length + marked.marked.length,
									);
								}}
							>
								{placeWords(marked)}
							</Button>
						</span>
					</div>
				)}
				{!fault && refused && (
					<div className="field-fault">
						<CircleAlert size={14} aria-hidden />
						<span>{refused}</span>
					</div>
				)}
			</div>
			<div id={resultId} className="expression-result">
				{children}
			</div>
		</div>
	);
}

const KIND_WORDS = {
	column: 'column',
	formula: 'own column',
	function: 'function',
	unit: 'unit',
	stratum: 'stratum',
	choice: 'word',
} as const;
