import { ArrowRight, Sigma, Table2 } from 'lucide-react';
import { useState } from 'react';
import { findColumn } from '../../../calc/sheet/catalogue.ts';
import type { FormulaUse } from '../../../electron/contract/formulas.ts';
import type { Marks } from '../celltext.ts';
import { ColumnFacts } from '../columnhelp/ColumnFacts.tsx';
import type { OwnColumnSheet } from './owncolumn.ts';

export interface DependsProps {
	readonly sheet: OwnColumnSheet;
	readonly heading: string;
	readonly marks: Marks;
	readonly uses: readonly FormulaUse[];
	readonly usedBy: readonly FormulaUse[];
	/** Goes to another own column. */
	readonly onGo: (id: string) => void;
}

/**
 * What a column is worked out from and what is worked out from it. An own column is gone to; a column
 * of the sheet says what it is.
 */
export function Depends({ sheet, heading, marks, uses, usedBy, onGo }: DependsProps) {
	const [asked, setAsked] = useState<string | null>(null);
	const column =
		asked !== null && [...uses, ...usedBy].some((use) => use.id === asked)
			? findColumn(sheet, asked)
			: undefined;
	const list = (uses_: readonly FormulaUse[], name: string, none: string) => (
		<div className="depends-side">
			<h4>{name}</h4>
			{uses_.length === 0 ? (
				<p className="own-soft">{none}</p>
			) : (
				<ul>
					{uses_.map((use) => (
						<li key={use.id}>
							<button
								type="button"
								className="depends-column"
								data-own={use.formula || undefined}
								aria-expanded={use.formula ? undefined : asked === use.id}
								title={use.id}
								onClick={() =>
									use.formula ? onGo(use.id) : setAsked(asked === use.id ? null : use.id)
								}
							>
								{use.formula ? <Sigma size={14} aria-hidden /> : <Table2 size={14} aria-hidden />}
								<span>{use.heading}</span>
								<span className="heading-unit">{use.unit}</span>
								{use.formula && <span className="out-of-sight">, own column: go to it</span>}
							</button>
						</li>
					))}
				</ul>
			)}
		</div>
	);
	return (
		<section className="depends" aria-label="What it depends on">
			<div className="depends-flow">
				{list(uses, 'Uses', 'No column.')}
				<ArrowRight size={18} className="depends-arrow" role="img" aria-label="goes into" />
				<div className="depends-self">{heading || 'This column'}</div>
				<ArrowRight size={18} className="depends-arrow" role="img" aria-label="goes into" />
				{list(usedBy, 'Used by', 'No column yet.')}
			</div>
			{column && (
				<div className="depends-facts">
					<p>
						<strong>{column.heading}</strong>: {column.help}
					</p>
					<ColumnFacts column={column} marks={marks} />
				</div>
			)}
		</section>
	);
}
