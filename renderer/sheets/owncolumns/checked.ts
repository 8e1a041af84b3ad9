import { useEffect, useState } from 'react';
import type { FormulaCheckAnswer, FormulaCheckAsk } from '../../../electron/contract/formulas.ts';
import { useAnswer } from '../../desk/answer.ts';

/** Typing rests this long before the desk is asked. */
const REST_MS = 180;

export interface Checked {
	/** The last answer there is; it may be about what stood there a moment ago. */
	readonly answer: FormulaCheckAnswer | null;
	/** The answer is about what stands there now. */
	readonly current: boolean;
	readonly trouble: string | null;
}

/** What the desk makes of a formula as it is being typed. null asks nothing. */
export function useChecked(ask: FormulaCheckAsk | null): Checked {
	const key = JSON.stringify(ask);
	const [rested, setRested] = useState(key);
	useEffect(() => {
		const timer = setTimeout(() => setRested(key), REST_MS);
		return () => clearTimeout(timer);
	}, [key]);
	const held = useAnswer('formula.check', JSON.parse(rested) as FormulaCheckAsk | null);
	const [last, setLast] = useState<FormulaCheckAnswer | null>(null);
	useEffect(() => {
		if (held.kind === 'ready') setLast(held.answer);
	}, [held]);
	return {
		answer: ask === null ? null : held.kind === 'ready' ? held.answer : last,
		current: held.kind === 'ready' && rested === key,
		trouble: held.kind === 'error' ? held.message : null,
	};
}
