import { type FormEvent, useEffect, useState } from 'react';
import { formatNumber } from '../../calc/quantity/format.ts';
import { useDeskStore, useDeskValue, useDocument } from '../desk/desk.tsx';
import { MOST_READINGS } from '../desk/store.ts';
import { MARKS } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';

const count = (value: number): string => formatNumber(value, 0, MARKS);

/** Which rings' readings are shown, for drives with more readings than are held at once. */
export function SpanChooser() {
	const store = useDeskStore();
	const document = useDocument();
	const view = useDeskValue((all) => all.sheets.readings);
	const [from, setFrom] = useState('');
	const [to, setTo] = useState('');
	const first = document?.firstRing ?? null;
	const last = document?.lastRing ?? null;
	const span = view.span;

	useEffect(() => {
		setFrom(String(span?.fromRing ?? first ?? ''));
		setTo(String(span?.toRing ?? last ?? ''));
	}, [span, first, last]);

	if (!document || first === null || last === null) return null;
	if (!span && document.readings <= MOST_READINGS) {
		return <span className="sheet-count">{count(view.held)} readings</span>;
	}
	const fromRing = Number(from);
	const toRing = Number(to);
	const fine = /^\d+$/.test(from) && /^\d+$/.test(to) && fromRing <= toRing && toRing <= 1_000_000;

	const show = (event: FormEvent) => {
		event.preventDefault();
		if (fine) void store.read('readings', { fromRing, toRing });
	};
	return (
		<form className="span-chooser" onSubmit={show} aria-label="Rings shown">
			<label>
				Rings{' '}
				<input
					className="input"
					inputMode="numeric"
					value={from}
					onChange={(event) => setFrom(event.target.value.trim())}
					aria-label="First ring shown"
					aria-invalid={fine ? undefined : true}
				/>
			</label>
			<label>
				to{' '}
				<input
					className="input"
					inputMode="numeric"
					value={to}
					onChange={(event) => setTo(event.target.value.trim())}
					aria-label="Last ring shown"
					aria-invalid={fine ? undefined : true}
				/>
			</label>
			<Button submit disabled={!fine}>
				Show
			</Button>
			<span className="sheet-count" role="status">
				{fine
					? `showing ${count(view.held)} of ${count(document.readings)} readings`
					: 'first ring, then a last ring not before it'}
			</span>
		</form>
	);
}
