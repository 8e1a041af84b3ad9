import { Filter, X } from 'lucide-react';
import { useEffect, useState } from 'react';
import { formatNumber } from '../../../calc/quantity/format.ts';
import { DECIMAL, MARKS } from '../../look/marks.ts';
import { Button } from '../../parts/Button.tsx';
import { filterWords } from './filterwords.ts';
import { isGroupLine } from './groupline.ts';
import type { Arranging } from './usearrange.ts';

const count = (value: number) => formatNumber(value, 0, MARKS);

/** Above a filtered sheet: which rows are shown and why only these, each reason to be taken away. */
export function FilterLine({
	arranging,
	one,
	many,
	held,
}: {
	readonly arranging: Arranging;
	readonly one: string;
	readonly many: string;
	/** Rows of the sheet, shown or not. */
	readonly held: number;
}) {
	const { api, arrangement, columns, set } = arranging;
	const active = arrangement.marked || Object.keys(arrangement.filters).length > 0;
	const [shown, setShown] = useState<number | null>(null);

	useEffect(() => {
		if (!api || api.isDestroyed() || !active) return;
		const look = () => {
			let passed = 0;
			api.forEachNodeAfterFilter(({ data }) => {
				if (!isGroupLine(data)) passed += 1;
			});
			setShown(passed);
		};
		look();
		api.addEventListener('modelUpdated', look);
		return () => {
			if (!api.isDestroyed()) api.removeEventListener('modelUpdated', look);
		};
	}, [api, active]);

	if (!active) return null;
	const without = (id: string) =>
		Object.fromEntries(Object.entries(arrangement.filters).filter(([key]) => key !== id));
	const told = Object.entries(arrangement.filters).map(([id, model]) => {
		const column = columns.find((each) => each.id === id);
		return { id, words: column ? filterWords(column, model, DECIMAL) : id };
	});
	return (
		<section className="filter-line" aria-label="Filters">
			<Filter size={16} aria-hidden />
			<span role="status">
				{shown === null
					? 'Filtered:'
					: `Showing ${count(shown)} of ${count(held)} ${held === 1 ? one : many}:`}
			</span>
			{arrangement.marked && (
				<button
					type="button"
					className="filter-chip"
					title="Take this filter away"
					onClick={() => set({ ...arrangement, marked: false })}
				>
					only with remarks <X size={13} aria-hidden />
				</button>
			)}
			{told.map(({ id, words }) => (
				<button
					key={id}
					type="button"
					className="filter-chip"
					title="Take this filter away"
					onClick={() => set({ ...arrangement, filters: without(id) })}
				>
					{words} <X size={13} aria-hidden />
				</button>
			))}
			<Button tone="quiet" onClick={() => set({ ...arrangement, filters: {}, marked: false })}>
				Show all
			</Button>
		</section>
	);
}
