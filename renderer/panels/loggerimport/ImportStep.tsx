import { dateTime } from '../../../calc/quantity/time.ts';
import type { LoggerInspection } from '../../../electron/contract/loggerimport.ts';
import type { Answer } from '../../../electron/contract/verbs.ts';
import { Field, TextField } from '../../parts/Field.tsx';
import { bytesText, rowsText } from './words.ts';

export type LoggerSource = Answer<'logger.sources'>[number];
export type Conflicts = 'refuse' | 'keepBefore' | 'takeFile';
export type Take = 'all' | 'goodRows';

const CONFLICT_WORDS: Readonly<Record<Conflicts, string>> = {
	refuse: 'import nothing and list them',
	keepBefore: 'keep what is there',
	takeFile: 'take the files',
};

export interface ImportChoice {
	readonly saveAs: string;
	readonly conflicts: Conflicts;
	readonly take: Take;
}

/** The last questions: name of the layout, and what to do where the files differ from what is there. */
export function ImportStep({
	seen,
	profiles,
	sources,
	utcOffset_min,
	choice,
	onChoice,
}: {
	readonly seen: LoggerInspection;
	readonly profiles: readonly string[];
	/** Files the series was made from so far. */
	readonly sources: readonly LoggerSource[];
	readonly utcOffset_min: number;
	readonly choice: ImportChoice;
	readonly onChoice: (choice: ImportChoice) => void;
}) {
	const bytes = seen.files.reduce((sum, file) => sum + file.bytes, 0);
	const known = seen.files.every(({ rows }) => rows !== null);
	const rows = seen.files.reduce((sum, file) => sum + (file.rows ?? 0), 0);
	const replaces = profiles.includes(choice.saveAs.trim());
	return (
		<div className="logger-last">
			<p>
				{seen.files.length === 1 ? seen.files[0]?.name : `${seen.files.length} files`},{' '}
				{bytesText(bytes)}
				{known && `, about ${rowsText(rows)}`}. Rows that are there already and the same are passed
				over; the others are put among them, and the rings they reach are balanced anew.
			</p>
			<TextField
				label="Keep this layout as"
				optional
				value={choice.saveAs}
				maxLength={80}
				onChange={(saveAs) => onChoice({ ...choice, saveAs })}
				help={
					replaces
						? 'Replaces the layout kept under this name.'
						: 'Under this name it is offered for the next files. It is kept in the project.'
				}
			/>
			<Field label="Where rows differ from what is there">
				{({ id }) => (
					<select
						id={id}
						value={choice.conflicts}
						onChange={(event) =>
							onChoice({ ...choice, conflicts: event.target.value as Conflicts })
						}
					>
						{(Object.keys(CONFLICT_WORDS) as Conflicts[]).map((each) => (
							<option key={each} value={each}>
								{CONFLICT_WORDS[each]}
							</option>
						))}
					</select>
				)}
			</Field>
			<Field label="Rows that cannot be read">
				{({ id }) => (
					<select
						id={id}
						value={choice.take}
						onChange={(event) => onChoice({ ...choice, take: event.target.value as Take })}
					>
						<option value="all">import nothing and list them</option>
						<option value="goodRows">leave them out and list them</option>
					</select>
				)}
			</Field>
			{sources.length > 0 && (
				<section aria-label="Imported so far">
					<h3>Imported so far</h3>
					<ul className="logger-files">
						{sources.map((source, index) => (
							// biome-ignore lint/suspicious/noArrayIndexKey: a file can be imported twice
							<li key={index}>
								<span className="logger-file-name">{source.file}</span>
								<span className="soft" title={`SHA-256 ${source.sha256}`}>
									{rowsText(source.rows)}
									{source.first_s !== null &&
										source.last_s !== null &&
										`, ${dateTime(source.first_s, utcOffset_min)} to ${dateTime(source.last_s, utcOffset_min)}`}
									, SHA-256 {source.sha256.slice(0, 12)}…
								</span>
							</li>
						))}
					</ul>
				</section>
			)}
		</div>
	);
}
