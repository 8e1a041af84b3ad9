import { useEffect, useState } from 'react';
import type { Answer, Ask, Reply, VerbName } from '../../electron/contract/verbs.ts';
import { afterPaint } from './afterpaint.ts';
import { useCallDesk, useSeq } from './desk.tsx';

/** What is held of the desk's answer to one question. */
export type Held<T> =
	| { readonly kind: 'loading' }
	| { readonly kind: 'error'; readonly message: string; readonly again: () => void }
	| { readonly kind: 'ready'; readonly answer: T };

/**
 * The desk's answer to a question that only reads, asked again whenever the document changes. The last
 * answer stays until the next one is there; another question's is never shown. A repeat waits for the
 * next frame: the cells of a changed row come first. null asks nothing.
 */
export function useAnswer<V extends VerbName>(verb: V, ask: Ask<V> | null): Held<Answer<V>> {
	const callDesk = useCallDesk();
	const seq = useSeq();
	const key = ask === null ? null : `${verb} ${JSON.stringify(ask)}`;
	const [got, setGot] = useState<{ readonly key: string; readonly reply: Reply<Answer<V>> } | null>(
		null,
	);
	const [tries, setTries] = useState(0);
	const asked = got !== null && got.key === key;

	// biome-ignore lint/correctness/useExhaustiveDependencies: the key stands for the question; the sequence number and the tries are what asks again
	useEffect(() => {
		if (ask === null || key === null) return;
		let wanted = true;
		const put = () => {
			if (!wanted) return;
			void callDesk(verb, ask).then((reply) => {
				if (wanted) setGot({ key, reply });
			});
		};
		if (asked) afterPaint(put);
		else put();
		return () => {
			wanted = false;
		};
	}, [callDesk, key, seq, tries]);

	if (!asked) return LOADING;
	const { reply } = got;
	if (reply.ok) return { kind: 'ready', answer: reply.value };
	const again = () => {
		setGot(null);
		setTries(tries + 1);
	};
	return { kind: 'error', message: reply.message, again };
}

const LOADING = { kind: 'loading' } as const;
