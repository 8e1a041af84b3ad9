import { TriangleAlert } from 'lucide-react';
import type { ImportedSheetId, SheetInspection } from '../../../electron/contract/sheetexchange.ts';
import { BY_WORDS, readText } from './words.ts';

type SeenField = SheetInspection['fields'][number];

/** Rows of the preview shown beside each field. */
const SHOWN = 3;

/** What each field of the file fills, in which unit, and how its first values are read. */
export function FieldTable({
	sheet,
	seen,
	utcOffset_min,
	onField,
}: {
	readonly sheet: ImportedSheetId;
	readonly seen: SheetInspection;
	readonly utcOffset_min: number;
	readonly onField: (field: number, column: string | null, unit: string | null) => void;
}) {
	return (
		// biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling table must be reachable by keyboard
		<section className="exchange-fields" tabIndex={0} aria-label="Fields of the file">
			<table>
				<thead>
					<tr>
						<th scope="col">Field</th>
						<th scope="col">As written</th>
						<th scope="col">Fills</th>
						<th scope="col">Unit in the file</th>
						<th scope="col">Read as</th>
						<th scope="col">Understood</th>
					</tr>
				</thead>
				<tbody>
					{seen.fields.map((field) => (
						<FieldRow
							key={field.field}
							field={field}
							columns={seen.columns}
							read={(value) =>
								field.column === null ? '' : readText(sheet, field.column, value, utcOffset_min)
							}
							onField={onField}
						/>
					))}
				</tbody>
			</table>
		</section>
	);
}

function FieldRow({
	field,
	columns,
	read,
	onField,
}: {
	readonly field: SeenField;
	readonly columns: SheetInspection['columns'];
	readonly read: (value: SeenField['read'][number]) => string;
	readonly onField: (field: number, column: string | null, unit: string | null) => void;
}) {
	const column = columns.find(({ id }) => id === field.column);
	const texts = field.texts.slice(0, SHOWN).map((text) => (text === '' ? '(empty)' : text));
	return (
		<tr data-left={column ? undefined : ''}>
			<th scope="row">{field.heading}</th>
			<td className="exchange-texts" title={texts.join('\n')}>
				{texts.join(' · ')}
			</td>
			<td>
				<select
					className="input"
					aria-label={`${field.heading} fills`}
					value={field.column ?? ''}
					onChange={(event) =>
						onField(field.field, event.target.value === '' ? null : event.target.value, null)
					}
				>
					<option value="">(left out)</option>
					{columns.map(({ id, heading, required }) => (
						<option key={id} value={id}>
							{heading}
							{required ? ' (needed)' : ''}
						</option>
					))}
				</select>
			</td>
			<td>
				{column && column.units.length > 0 && (
					<select
						className="input"
						aria-label={`Unit of ${field.heading}`}
						value={field.unit ?? column.units[0]?.id ?? ''}
						onChange={(event) => onField(field.field, column.id, event.target.value)}
					>
						{column.units.map(({ id, label }) => (
							<option key={id} value={id}>
								{label}
							</option>
						))}
					</select>
				)}
			</td>
			<td className="exchange-texts">
				{column ? field.read.slice(0, SHOWN).map(read).join(' · ') : ''}
			</td>
			<td>
				{field.remark === null ? (
					<span className="soft">{field.by === null ? 'left out' : BY_WORDS[field.by]}</span>
				) : (
					<span className={column ? 'exchange-doubt' : 'soft'}>
						{column && <TriangleAlert size={14} aria-hidden />} {field.remark}
					</span>
				)}
			</td>
		</tr>
	);
}
