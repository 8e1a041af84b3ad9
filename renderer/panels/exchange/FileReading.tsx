import type { SheetInspection, SheetReading } from '../../../electron/contract/sheetexchange.ts';
import { Field } from '../../parts/Field.tsx';
import { DATE_WORDS, DECIMAL_WORDS, DELIMITER_WORDS, offsetsWith, offsetText } from './words.ts';

/** How the file is read: every guess can be changed. */
export function FileReading({
	seen,
	onChange,
}: {
	readonly seen: SheetInspection;
	/** `anew`: the fields are others than before. */
	readonly onChange: (part: Partial<SheetReading>, anew: boolean) => void;
}) {
	const { reading } = seen;
	const offset_min = reading.utcOffset_min ?? 0;
	return (
		<div className="exchange-reading">
			{seen.form === 'xlsx' ? (
				<Choice
					label="Worksheet"
					value={reading.worksheet ?? ''}
					options={seen.worksheets.map((name) => [name, name])}
					onChange={(worksheet) => onChange({ worksheet }, true)}
				/>
			) : (
				<Choice
					label="Between fields"
					value={reading.delimiter ?? ','}
					options={entries(DELIMITER_WORDS)}
					onChange={(delimiter) => onChange({ delimiter }, true)}
				/>
			)}
			<Choice
				label="Decimal mark of texts"
				value={reading.decimal ?? '.'}
				options={entries(DECIMAL_WORDS)}
				onChange={(decimal) => onChange({ decimal }, false)}
			/>
			<Choice
				label="Dates that are texts"
				value={reading.dates ?? 'iso'}
				options={entries(DATE_WORDS)}
				onChange={(dates) => onChange({ dates }, false)}
			/>
			<Choice
				label="Times without offset"
				value={String(offset_min)}
				options={offsetsWith(offset_min).map((each) => [String(each), offsetText(each)])}
				onChange={(text) => onChange({ utcOffset_min: Number(text) }, false)}
			/>
			<Choice
				label="Headings in row"
				value={String(reading.headingRow ?? 1)}
				options={seen.head.map((line) => {
					const row = line.slice(0, line.indexOf(':'));
					return [row, line.length > 60 ? `${line.slice(0, 59)}…` : line];
				})}
				onChange={(text) => onChange({ headingRow: Number(text) }, true)}
			/>
		</div>
	);
}

const entries = <T extends string>(words: Readonly<Record<T, string>>): readonly [T, string][] =>
	Object.entries(words) as [T, string][];

function Choice<T extends string>({
	label,
	value,
	options,
	onChange,
}: {
	readonly label: string;
	readonly value: T;
	readonly options: readonly (readonly [T, string])[];
	readonly onChange: (value: T) => void;
}) {
	return (
		<Field label={label}>
			{({ id }) => (
				<select id={id} value={value} onChange={(event) => onChange(event.target.value as T)}>
					{options.map(([each, words]) => (
						<option key={each} value={each}>
							{words}
						</option>
					))}
				</select>
			)}
		</Field>
	);
}
