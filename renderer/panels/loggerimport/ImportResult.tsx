import { dateTime } from '../../../calc/quantity/time.ts';
import type { LoggerImported } from '../../../electron/contract/loggerimport.ts';
import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import { Notice } from '../../parts/Notice.tsx';
import { FaultTable } from '../FaultTable.tsx';
import type { Conflicts } from './ImportStep.tsx';
import { bytesText, outcomeText, rowsText, tookText, whole } from './words.ts';

/** What has come of an import: rows, overlap, duplicates, conflicts, rings balanced anew. */
export function ImportResult({
	result,
	utcOffset_min,
	headingOf,
	onAgain,
	onBack,
	onClose,
}: {
	readonly result: LoggerImported;
	readonly utcOffset_min: number;
	/** Name of a column as in the sheets. */
	readonly headingOf: (column: string) => string;
	/** Imports once more, with another answer to conflicts; null: the files were not asked for here. */
	readonly onAgain: ((conflicts: Conflicts) => void) | null;
	/** Back to the questions, if there were any. */
	readonly onBack: (() => void) | null;
	readonly onClose: () => void;
}) {
	const { outcome, conflicts } = result;
	const done = outcome === 'done';
	const clash = outcome === 'refused' && conflicts > 0;
	const span = (from_s: number, to_s: number) =>
		`${dateTime(from_s, utcOffset_min)} to ${dateTime(to_s, utcOffset_min)}`;
	const facts: readonly (readonly [string, string])[] = [
		['Rows in the files', whole(result.rows)],
		['New', whole(result.added)],
		['There already, the same', whole(result.duplicates)],
		['There already, different', whole(conflicts)],
		['Rings balanced anew', whole(result.rings)],
		['Took', tookText(result)],
	];
	return (
		<Dialog
			title={outcomeText(result)}
			onClose={onClose}
			width={result.conflictList.length > 0 || result.faults.length > 0 ? 1000 : 620}
			footer={
				<>
					{!done && onBack && <Button onClick={onBack}>Back to the layout</Button>}
					{clash && onAgain && (
						<>
							<Button onClick={() => onAgain('keepBefore')}>Import, keep what is there</Button>
							<Button onClick={() => onAgain('takeFile')}>Import, take the files</Button>
						</>
					)}
					<Button tone="primary" onClick={onClose}>
						Close
					</Button>
				</>
			}
		>
			<Notice status={done ? 'good' : outcome === 'cancelled' ? 'info' : 'stop'}>
				{result.why ??
					(result.rings === 1
						? 'The series is part of the drive now; one ring was balanced anew.'
						: `The series is part of the drive now; ${whole(result.rings)} rings were balanced anew.`)}
			</Notice>
			{outcome !== 'cancelled' && (
				<dl className="summary">
					{facts.map(([name, value]) => (
						<div key={name}>
							<dt>{name}</dt>
							<dd>{value}</dd>
						</div>
					))}
				</dl>
			)}
			{result.first_s !== null && result.last_s !== null && (
				<p>The files reach from {span(result.first_s, result.last_s)}.</p>
			)}
			{result.overlap && (
				<p>Of this, {span(result.overlap.from_s, result.overlap.to_s)} was there already.</p>
			)}
			{result.sources.length > 0 && (
				<ul className="logger-files" aria-label="Sources">
					{result.sources.map((source, index) => (
						// biome-ignore lint/suspicious/noArrayIndexKey: two files can have the same content
						<li key={index}>
							<span className="logger-file-name">{source.file}</span>
							<span className="soft" title={`SHA-256 ${source.sha256}`}>
								{rowsText(source.rows)}, {bytesText(source.bytes)}, SHA-256{' '}
								{source.sha256.slice(0, 12)}…
							</span>
						</li>
					))}
				</ul>
			)}
			{result.conflictList.length > 0 && (
				<section aria-label="Differences">
					<h3>
						Where the files differ from what is there
						{conflicts > result.conflictList.length &&
							`, the first ${result.conflictList.length} of ${whole(conflicts)}`}
					</h3>
					{/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling table must be reachable by keyboard */}
					<section className="logger-columns" tabIndex={0} aria-label="List of differences">
						<table>
							<thead>
								<tr>
									<th scope="col">Time</th>
									<th scope="col">Column</th>
									<th scope="col" className="figure">
										There
									</th>
									<th scope="col" className="figure">
										In the file
									</th>
									<th scope="col">Stands now</th>
								</tr>
							</thead>
							<tbody>
								{result.conflictList.map((conflict) => (
									<tr key={`${conflict.time_s} ${conflict.column}`}>
										<td>{dateTime(conflict.time_s, utcOffset_min)}</td>
										<td>{headingOf(conflict.column)}</td>
										<td className="figure">{conflict.before}</td>
										<td className="figure">{conflict.file}</td>
										<td>{conflict.kept === 'file' ? 'the file' : 'what was there'}</td>
									</tr>
								))}
							</tbody>
						</table>
					</section>
				</section>
			)}
			{result.faults.length > 0 && (
				<FaultTable
					faults={result.faults}
					more={result.moreFaults}
					caption={
						done
							? 'Imported with these remarks; rows with a fault were left out.'
							: 'Rows with a fault cannot be taken; rows with a note can.'
					}
				/>
			)}
		</Dialog>
	);
}
