import { Trash2 } from 'lucide-react';
import { useState } from 'react';
import { dateTime } from '../../calc/quantity/time.ts';
import type { Timeline } from '../../electron/contract/verbs.ts';
import { useCallDesk } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { tell } from '../parts/Toast.tsx';
import { MODE_WORDS } from './bands.ts';
import { faultName, type SignalFaultShown } from './faultstrip.ts';
import type { SetModeRow } from './setmodes.ts';
import { durationText } from './ticks.ts';
import type { Span } from './traces.ts';

/** Everything about a ring's record that is not plain: modes set by hand, and faults of signals. */
export function RecordNotes({
	timeline,
	setModes,
	utcOffset_min,
	readOnly,
	onClose,
}: {
	readonly timeline: Timeline;
	readonly setModes: readonly SetModeRow[];
	readonly utcOffset_min: number;
	readonly readOnly: boolean;
	readonly onClose: () => void;
}) {
	const callDesk = useCallDesk();
	const [busy, setBusy] = useState<number | null>(null);
	const faults = timeline.signalFaults ?? [];
	const moment = (time_s: number) => dateTime(Math.round(time_s), utcOffset_min);
	const reach = ({ from_s, to_s }: Span) => (from_s === to_s ? '' : durationText(to_s - from_s));
	const remove = async (row: number) => {
		setBusy(row);
		const reply = await callDesk('sheet.delete', { sheet: 'mode_overrides', rows: [row] });
		setBusy(null);
		const said = reply.ok ? reply.value.refused[0]?.fault.message : reply.message;
		if (said !== undefined) tell('stop', said);
		else tell('good', 'The mode is as it was before. Ctrl+Z sets it again.');
	};
	return (
		<Dialog
			title={`The record around ring ${timeline.ring}`}
			onClose={onClose}
			width={960}
			footer={
				<Button tone="primary" onClick={onClose}>
					Close
				</Button>
			}
		>
			<div className="record">
				<section aria-label="Modes set by hand">
					<h3>Modes set by hand</h3>
					{setModes.length === 0 ? (
						<p className="soft">
							None. Drag over the mode band, or press Enter at the crosshair, to set one.
						</p>
					) : (
						<div className="record-scroll">
							<table>
								<thead>
									<tr>
										<th scope="col">From</th>
										<th scope="col">To</th>
										<th scope="col">Mode</th>
										<th scope="col">Why</th>
										<th scope="col">
											<span className="out-of-sight">Remove</span>
										</th>
									</tr>
								</thead>
								<tbody>
									{setModes.map((row) => (
										<tr key={row.id}>
											<td className="record-when">{moment(row.from_s)}</td>
											<td className="record-when">{moment(row.to_s)}</td>
											<td>{MODE_WORDS[row.mode]}</td>
											<td>{row.why}</td>
											<td className="record-act">
												{!readOnly && (
													<Button
														tone="danger"
														icon={Trash2}
														busy={busy === row.id}
														disabled={busy !== null}
														onClick={() => void remove(row.id)}
													>
														Remove
													</Button>
												)}
											</td>
										</tr>
									))}
								</tbody>
							</table>
						</div>
					)}
				</section>
				<section aria-label="Faults of signals">
					<h3>Faults of signals</h3>
					{faults.length === 0 ? (
						<p className="soft">None was found by the rules.</p>
					) : (
						// biome-ignore lint/a11y/noNoninteractiveTabindex: a scrolling table must be reachable by keyboard
						<section className="record-scroll" tabIndex={0} aria-label="List of faults">
							<table>
								<thead>
									<tr>
										<th scope="col">What</th>
										<th scope="col">From</th>
										<th scope="col">Lasts</th>
										<th scope="col" className="figure">
											Rows
										</th>
										<th scope="col">Found by</th>
									</tr>
								</thead>
								<tbody>
									{faults.map((fault: SignalFaultShown) => (
										<tr key={`${fault.kind} ${fault.signal} ${fault.from_s} ${fault.to_s}`}>
											<td>{faultName(fault)}</td>
											<td className="record-when">{moment(fault.from_s)}</td>
											<td className="record-when">{reach(fault)}</td>
											<td className="figure">{fault.count}</td>
											<td>{fault.rule}</td>
										</tr>
									))}
								</tbody>
							</table>
						</section>
					)}
				</section>
			</div>
		</Dialog>
	);
}
