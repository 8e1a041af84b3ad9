import { dateTime } from '../../../calc/quantity/time.ts';
import type { LoggerInspection, LoggerLayout } from '../../../electron/contract/loggerimport.ts';
import { Field } from '../../parts/Field.tsx';
import { withHeadingRow, withTimeFields } from './layoutedit.ts';
import {
	bytesText,
	DECIMAL_WORDS,
	DELIMITER_WORDS,
	ENCODING_WORDS,
	rowsText,
	stampText,
	TIME_WORDS,
} from './words.ts';

export interface StepProps {
	readonly seen: LoggerInspection;
	readonly utcOffset_min: number;
	readonly onLayout: (layout: LoggerLayout) => void;
}

const keysOf = <T extends string>(words: Readonly<Record<T, string>>): readonly T[] =>
	Object.keys(words) as T[];

function Choice<T extends string>({
	label,
	value,
	words,
	onChange,
	help,
}: {
	readonly label: string;
	readonly value: T;
	readonly words: Readonly<Record<T, string>>;
	readonly onChange: (value: T) => void;
	readonly help?: string;
}) {
	return (
		<Field label={label} help={help}>
			{({ id, describedBy }) => (
				<select
					id={id}
					value={value}
					aria-describedby={describedBy}
					onChange={(event) => onChange(event.target.value as T)}
				>
					{keysOf(words).map((each) => (
						<option key={each} value={each}>
							{words[each]}
						</option>
					))}
				</select>
			)}
		</Field>
	);
}

/** How lines, numbers and stamps of the files are written: every guess can be changed. */
export function LayoutStep({ seen, utcOffset_min, onLayout }: StepProps) {
	const { layout } = seen;
	const csv = layout.format === 'csv';
	const put = (part: Partial<LoggerLayout>) => onLayout({ ...layout, ...part });
	const putTime = (part: Partial<LoggerLayout['time']>) =>
		put({ time: { ...layout.time, ...part } });
	return (
		<div className="logger-layout">
			<ul className="logger-files" aria-label="Files">
				{seen.files.map((file) => (
					<li key={file.placeId}>
						<span className="logger-file-name">{file.name}</span>
						<span className="soft">
							{bytesText(file.bytes)}
							{file.rows === null ? '' : `, about ${rowsText(file.rows)}`}
							{file.importedBefore && ', imported before'}
						</span>
					</li>
				))}
			</ul>
			{csv && (
				<section aria-label="Lines and numbers">
					<h3>Lines and numbers</h3>
					<div className="logger-fields">
						<Choice
							label="Between fields"
							value={layout.delimiter}
							words={DELIMITER_WORDS}
							onChange={(delimiter) => put({ delimiter })}
						/>
						<Choice
							label="Decimal sign"
							value={layout.decimal}
							words={DECIMAL_WORDS}
							onChange={(decimal) => put({ decimal })}
						/>
						<Choice
							label="Encoding"
							value={layout.encoding}
							words={ENCODING_WORDS}
							onChange={(encoding) => put({ encoding })}
						/>
						<RowChoice
							label="Headings in line"
							value={layout.headingRow}
							most={seen.head.length}
							none="none"
							onChange={(row) => onLayout(withHeadingRow(layout, row))}
						/>
						<RowChoice
							label="Data from line"
							value={layout.firstRow}
							least={(layout.headingRow ?? 0) + 1}
							most={Math.max(seen.head.length, layout.firstRow)}
							onChange={(row) => row !== null && put({ firstRow: row })}
						/>
					</div>
					<Head seen={seen} />
				</section>
			)}
			<section aria-label="Time">
				<h3>Time</h3>
				<div className="logger-fields">
					<FieldChoice
						label={layout.time.fields.length === 2 ? 'Date in' : 'Date and time in'}
						seen={seen}
						value={layout.time.fields[0] ?? 0}
						onChange={(first) =>
							first !== null &&
							onLayout(withTimeFields(layout, first, layout.time.fields[1] ?? null))
						}
					/>
					<FieldChoice
						label="Time of day in"
						seen={seen}
						value={layout.time.fields[1] ?? null}
						none="the same field"
						onChange={(second) =>
							onLayout(withTimeFields(layout, layout.time.fields[0] ?? 0, second))
						}
					/>
					<Choice
						label="Written as"
						value={layout.time.format}
						words={TIME_WORDS}
						onChange={(format) => putTime({ format })}
					/>
					<ZoneChoice seen={seen} onChange={(zone) => putTime({ zone })} />
				</div>
				<p className={seen.time.first_s === null ? 'logger-doubt' : ''}>
					{stampText(seen.time, seen.rowsLookedAt, utcOffset_min)}
				</p>
				{seen.time.doubts.map((doubt) => (
					<p className="logger-doubt" key={doubt}>
						{doubt}
					</p>
				))}
				<table className="logger-stamps">
					<caption className="out-of-sight">First stamps as written and as read</caption>
					<thead>
						<tr>
							<th scope="col">As written</th>
							<th scope="col">Read as, on the drive's clock</th>
						</tr>
					</thead>
					<tbody>
						{seen.time.texts.slice(0, 4).map((text, index) => {
							const time_s = seen.time.parsed[index] ?? null;
							return (
								// biome-ignore lint/suspicious/noArrayIndexKey: rows of a file have no identity but their place
								<tr key={index}>
									<td>{text === '' ? '(empty)' : text}</td>
									<td className={time_s === null ? 'logger-doubt' : ''}>
										{time_s === null ? 'not read' : dateTime(time_s, utcOffset_min)}
									</td>
								</tr>
							);
						})}
					</tbody>
				</table>
			</section>
		</div>
	);
}

/** The first lines as they stand, with those of the headings and of the first data marked. */
function Head({ seen }: { readonly seen: LoggerInspection }) {
	const { headingRow, firstRow } = seen.layout;
	return (
		// biome-ignore lint/a11y/noNoninteractiveTabindex: long lines scroll and must be reachable by keyboard
		<section className="logger-head" tabIndex={0} aria-label="First lines of the first file">
			{seen.head.map((line, index) => {
				const row = index + 1;
				const role = row === headingRow ? 'headings' : row < firstRow ? 'passed over' : '';
				return (
					<div className="logger-line" key={row} data-role={role}>
						<span className="logger-line-number">{row}</span>
						<span className="logger-line-text">{line.replaceAll('\t', ' ⇥ ')}</span>
						<span className="logger-line-role">{role}</span>
					</div>
				);
			})}
		</section>
	);
}

function RowChoice({
	label,
	value,
	least = 1,
	most,
	none,
	onChange,
}: {
	readonly label: string;
	readonly value: number | null;
	readonly least?: number;
	readonly most: number;
	readonly none?: string;
	readonly onChange: (row: number | null) => void;
}) {
	const rows = Array.from({ length: Math.max(0, most - least + 1) }, (_, index) => least + index);
	return (
		<Field label={label}>
			{({ id }) => (
				<select
					id={id}
					value={value ?? ''}
					onChange={(event) =>
						onChange(event.target.value === '' ? null : Number(event.target.value))
					}
				>
					{none !== undefined && <option value="">{none}</option>}
					{rows.map((row) => (
						<option key={row} value={row}>
							{row}
						</option>
					))}
				</select>
			)}
		</Field>
	);
}

function FieldChoice({
	label,
	seen,
	value,
	none,
	onChange,
}: {
	readonly label: string;
	readonly seen: LoggerInspection;
	readonly value: number | null;
	readonly none?: string;
	readonly onChange: (field: number | null) => void;
}) {
	return (
		<Field label={label}>
			{({ id }) => (
				<select
					id={id}
					value={value ?? ''}
					onChange={(event) =>
						onChange(event.target.value === '' ? null : Number(event.target.value))
					}
				>
					{none !== undefined && <option value="">{none}</option>}
					{seen.fields.map(({ field, heading }) => (
						<option key={field} value={field}>
							{heading}
						</option>
					))}
				</select>
			)}
		</Field>
	);
}

/** Offset or name of the zone the stamps are in; names know daylight saving. */
function ZoneChoice({
	seen,
	onChange,
}: {
	readonly seen: LoggerInspection;
	readonly onChange: (zone: string) => void;
}) {
	const { zone } = seen.layout.time;
	const named = seen.zones.filter((name) => name.includes('/'));
	const plain = seen.zones.filter((name) => !name.includes('/'));
	const known = zone === 'stamps' || seen.zones.includes(zone);
	return (
		<Field label="Zone" help="Of stamps that bear no offset. Names know daylight saving.">
			{({ id, describedBy }) => (
				<select
					id={id}
					value={zone}
					aria-describedby={describedBy}
					onChange={(event) => onChange(event.target.value)}
				>
					<option value="stamps">each stamp says it</option>
					{!known && <option value={zone}>{zone}</option>}
					{plain.length > 0 && (
						<optgroup label="Fixed">
							{plain.map((name) => (
								<option key={name} value={name}>
									{name}
								</option>
							))}
						</optgroup>
					)}
					<optgroup label="By name, with daylight saving">
						{named.map((name) => (
							<option key={name} value={name}>
								{name}
							</option>
						))}
					</optgroup>
				</select>
			)}
		</Field>
	);
}
