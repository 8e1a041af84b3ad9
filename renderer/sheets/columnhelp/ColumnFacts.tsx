import './columnhelp.css';
import type { Column } from '../../../calc/sheet/column.ts';
import type { Marks } from '../celltext.ts';
import { columnFacts } from './columnfacts.ts';

/** Unit, formula, source and limits of a column, line by line. */
export function ColumnFacts({ column, marks }: { readonly column: Column; readonly marks: Marks }) {
	return (
		<dl className="column-facts">
			{columnFacts(column, marks).map(({ name, says, formula }) => (
				<div key={name}>
					<dt>{name}</dt>
					{says.map((text) => (
						<dd key={text} className={formula ? 'formula' : undefined}>
							{text}
						</dd>
					))}
				</div>
			))}
		</dl>
	);
}
