import { Grid2x2Check } from 'lucide-react';
import { type ReactNode, useSyncExternalStore } from 'react';
import { formatNumber, formatQuantity } from '../../../calc/quantity/format.ts';
import { dateTime } from '../../../calc/quantity/time.ts';
import { MARKS } from '../../look/marks.ts';
import { sizeWords } from './block.ts';
import type { Figures, RangeFigures } from './rangefigures.ts';
import type { RangeStore } from './rangestore.ts';

export interface RangeLineProps {
	readonly range: RangeStore;
	readonly utcOffset_min: number;
	/** Shown while only one cell is chosen. */
	readonly children: ReactNode;
}

/** A mean has more to say than the figures it is made of. */
const MEAN_DECIMALS = 1;

function figureWords(
	figures: Figures,
	utcOffset_min: number,
): readonly (readonly [string, string])[] {
	if (figures.kind === 'times') {
		return [
			['from', dateTime(figures.from_s, utcOffset_min)],
			['to', dateTime(figures.to_s, utcOffset_min)],
		];
	}
	const { unit, decimals } = figures;
	const written = (value: number, digits = decimals) =>
		unit === null ? formatNumber(value, digits, MARKS) : formatQuantity(value, unit, digits, MARKS);
	return [
		...(figures.sum === null ? [] : [['sum', written(figures.sum)] as const]),
		...(figures.mean === null
			? []
			: [['mean', written(figures.mean, decimals + MEAN_DECIMALS)] as const]),
		['min', written(figures.min)],
		['max', written(figures.max)],
	];
}

function countWords({ filled, numbers, rows, columns }: RangeFigures): string {
	const cells = rows * columns;
	const count = (value: number) => formatNumber(value, 0, MARKS);
	const told =
		filled === cells ? `${count(cells)} cells` : `${count(filled)} of ${count(cells)} cells filled`;
	return numbers === filled || numbers === 0 ? told : `${told}, ${count(numbers)} numbers or times`;
}

/** What is to be said of several chosen cells at once; of a single one its own line says it. */
export function RangeLine({ range, utcOffset_min, children }: RangeLineProps) {
	const told = useSyncExternalStore(range.subscribe, range.figures);
	if (!told) return children;
	return (
		<div className="cell-line range-line" role="status" aria-label="Chosen cells">
			<span className="cell-line-kind">
				<Grid2x2Check size={14} aria-hidden />
			</span>
			<strong>{sizeWords(told.rows, told.columns)}</strong>
			<span className="cell-line-kind">{countWords(told)}</span>
			{told.figures &&
				figureWords(told.figures, utcOffset_min).map(([name, value]) => (
					<span key={name} className="range-figure">
						<span className="range-figure-name">{name}</span> {value}
					</span>
				))}
			{told.why && <span className="cell-line-why">{told.why}</span>}
		</div>
	);
}
