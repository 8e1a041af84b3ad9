import './panels.css';
import { X } from 'lucide-react';
import { useEffect, useRef } from 'react';
import type { Working } from '../../electron/contract/verbs.ts';
import { useAnswer } from '../desk/answer.ts';
import { DECIMAL } from '../look/marks.ts';
import { Button } from '../parts/Button.tsx';
import { IconButton } from '../parts/IconButton.tsx';
import { Notice } from '../parts/Notice.tsx';
import { Spinner } from '../parts/Progress.tsx';
import { shareText } from './shares.ts';

export interface ComputedCell {
	readonly sheet: 'ledger' | 'readings';
	/** Row id within the sheet. */
	readonly row: number;
	readonly column: string;
}

export interface HowComputedProps {
	readonly cell: ComputedCell;
	/** Given when the panel can be put away. */
	readonly onClose?: () => void;
}

/** How one computed cell came about: formula, numbers put in, inputs with where they came from, uncertainty. */
export function HowComputed({ cell, onClose }: HowComputedProps) {
	const panel = useRef<HTMLElement>(null);
	const { sheet, row, column } = cell;
	const key = `${sheet}/${row}/${column}`;
	const held = useAnswer('cell.working', { sheet, row, column });

	// Asked for at the foot of the ring's detail the answer would open out of sight.
	// biome-ignore lint/correctness/useExhaustiveDependencies: the kind and the key say when there is more to be seen
	useEffect(() => {
		panel.current?.scrollIntoView({ block: 'nearest' });
	}, [held.kind, key]);

	return (
		<section className="how" ref={panel} aria-label="How this was computed">
			<header className="panel-head">
				<h2>{held.kind === 'ready' ? held.answer.heading : 'How was this computed?'}</h2>
				{onClose && <IconButton label="Close how this was computed" icon={X} onClick={onClose} />}
			</header>
			{held.kind === 'loading' && <Spinner label="Asking…" />}
			{held.kind === 'error' && (
				<Notice
					status="stop"
					title="This could not be told"
					actions={<Button onClick={held.again}>Try again</Button>}
				>
					{held.message}
				</Notice>
			)}
			{held.kind === 'ready' && <WorkingShown working={held.answer} />}
		</section>
	);
}

function WorkingShown({ working }: { readonly working: Working }) {
	const largest = Math.max(0, ...working.budget.map((part) => part.sharePct));
	return (
		<div className="how-body">
			<p className="how-result">{working.result}</p>
			{working.reasons.length > 0 && (
				<Notice status="note" title="To be known about this figure">
					<ul>
						{working.reasons.map((reason) => (
							<li key={reason}>{reason}</li>
						))}
					</ul>
				</Notice>
			)}
			<dl className="how-formulas">
				<dt>Formula</dt>
				<dd className="formula">{working.formula}</dd>
				{working.withNumbers !== '' && (
					<>
						<dt>With the numbers</dt>
						<dd className="formula" data-part="with-numbers">
							{working.withNumbers}
						</dd>
					</>
				)}
			</dl>
			{working.lines.length > 0 && (
				<table className="how-lines">
					<caption>Inputs</caption>
					<thead>
						<tr>
							<th scope="col">Input and where it comes from</th>
							<th scope="col" className="figure">
								Value
							</th>
						</tr>
					</thead>
					<tbody>
						{working.lines.map((line) => (
							<tr key={`${line.symbol} ${line.name}`}>
								<td>
									<span className="symbol">{line.symbol}</span> {line.name}
									<span className="how-from">{line.from}</span>
								</td>
								<td
									className="figure"
									data-missing={line.value === 'missing' || line.value === 'blank' || undefined}
								>
									{line.value}
								</td>
							</tr>
						))}
					</tbody>
				</table>
			)}
			{working.budget.length > 0 && (
				<table className="how-budget">
					<caption>What makes up its standard uncertainty, largest share first</caption>
					<thead>
						<tr>
							<th scope="col">Input</th>
							<th scope="col" className="figure">
								u of input
							</th>
							<th scope="col" className="figure">
								Effect
							</th>
							<th scope="col">Share of variance</th>
						</tr>
					</thead>
					<tbody>
						{working.budget.map((part) => (
							<tr key={part.input}>
								<td>{part.input}</td>
								<td className="figure">{part.inputU}</td>
								<td className="figure">{part.contribution}</td>
								<td>
									<span className="share">
										<span className="share-track">
											<span
												className="share-bar"
												style={{ width: `${largest > 0 ? (part.sharePct / largest) * 100 : 0}%` }}
											/>
										</span>
										<span className="figure">{shareText(part.sharePct, DECIMAL)}</span>
									</span>
								</td>
							</tr>
						))}
					</tbody>
				</table>
			)}
			<p className="soft">Source: {working.source}</p>
			{working.cautions.length > 0 && (
				<ul className="how-cautions">
					{working.cautions.map((caution) => (
						<li key={caution}>{caution}</li>
					))}
				</ul>
			)}
		</div>
	);
}
