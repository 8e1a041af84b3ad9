import './panels.css';
import { CircleAlert, TriangleAlert } from 'lucide-react';
import { useId, useMemo, useState } from 'react';
import type { Fault } from '../../calc/fault/fault.ts';
import type { FolderSummary } from '../../electron/contract/verbs.ts';
import { countByFile, fileOf } from './faultfiles.ts';

type FaultMessage = FolderSummary['faults'][number] | Fault;

export interface FaultTableProps {
	readonly faults: readonly FaultMessage[];
	/** Faults beyond those listed. */
	readonly more: number;
	readonly caption: string;
}

/** Every fault with file, row, column, value and what was expected; one file at a time when wanted. */
export function FaultTable({ faults, more, caption }: FaultTableProps) {
	const filterId = useId();
	const [file, setFile] = useState<string | null>(null);
	const files = useMemo(() => countByFile(faults), [faults]);
	const shown = file === null ? faults : faults.filter((fault) => fileOf(fault) === file);
	return (
		<div className="faults">
			<div className="faults-head">
				<span>
					{caption}
					{more > 0 && ` The first ${faults.length} of ${faults.length + more} are listed.`}
				</span>
				{files.length > 1 && (
					<label htmlFor={filterId} className="faults-filter">
						Show
						<select
							id={filterId}
							className="input"
							value={file ?? ''}
							onChange={(event) => setFile(event.target.value === '' ? null : event.target.value)}
						>
							<option value="">all files ({faults.length})</option>
							{files.map((each) => (
								<option key={each.file} value={each.file}>
									{each.file} ({each.count})
								</option>
							))}
						</select>
					</label>
				)}
			</div>
			{/* biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling table must be reachable by keyboard */}
			<section className="faults-scroll" tabIndex={0} aria-label="List of faults">
				<table>
					<thead>
						<tr>
							<th scope="col">Kind</th>
							<th scope="col">File</th>
							<th scope="col" className="figure">
								Row
							</th>
							<th scope="col">Column</th>
							<th scope="col">Value</th>
							<th scope="col">What is wrong</th>
							<th scope="col">Expected</th>
						</tr>
					</thead>
					<tbody>
						{shown.map((fault, index) => (
							<tr
								// biome-ignore lint/suspicious/noArrayIndexKey: faults have no identity but their place in the list
								key={index}
								data-weight={fault.weight}
							>
								<td>
									<span className="fault-weight" data-status={fault.weight}>
										{fault.weight === 'stop' ? (
											<CircleAlert size={14} aria-hidden />
										) : (
											<TriangleAlert size={14} aria-hidden />
										)}
										{fault.weight === 'stop' ? 'fault' : 'note'}
									</span>
								</td>
								<td>{fileOf(fault)}</td>
								<td className="figure">
									{fault.where.row ??
										(fault.where.ring === undefined ? '' : `ring ${fault.where.ring}`)}
								</td>
								<td className="fault-column">{fault.where.column ?? ''}</td>
								<td className="fault-value">
									{fault.where.value === undefined
										? ''
										: fault.where.value === ''
											? '(empty)'
											: fault.where.value}
								</td>
								<td>{fault.message}</td>
								<td>{fault.where.expected ?? ''}</td>
							</tr>
						))}
					</tbody>
				</table>
			</section>
		</div>
	);
}
