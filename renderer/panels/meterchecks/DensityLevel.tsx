import { useEffect, useState } from 'react';
import { formatNumber } from '../../../calc/quantity/format.ts';
import { dateTime } from '../../../calc/quantity/time.ts';
import { METER_CHECK_RULES } from '../../../calc/trust/metercheck.ts';
import type { MeterChecks } from '../../../electron/contract/meterchecks.ts';
import { signed } from '../../charts/checktraces.ts';
import { MARKS } from '../../look/marks.ts';
import { useDriveEdit } from './driveedit.ts';

const { anchorSamples, balanceResolution_kg_m3 } = METER_CHECK_RULES;

/** What the mud balance says of the level both densitometers share, and whether it sets it. */
export function DensityLevel({
	checks,
	readOnly,
	utcOffset_min,
}: {
	readonly checks: MeterChecks;
	readonly readOnly: boolean;
	readonly utcOffset_min: number;
}) {
	const { busy, edit } = useDriveEdit();
	const { anchor } = checks;
	/** Ticked and on its way: shown until the desk has answered. */
	const [wanted, setWanted] = useState<boolean | null>(null);
	// biome-ignore lint/correctness/useExhaustiveDependencies: a new answer is what counts
	useEffect(() => setWanted(null), [checks]);
	const samples = anchor?.samples ?? [];
	const known = anchor !== null && anchor.value !== null && anchor.u !== null;
	return (
		<section className="checks-part">
			<h3>Level of the densities, by mud balance</h3>
			<p className="soft checks-small">
				Bypass says nothing about an error that both densitometers share; samples on the mud balance
				do. It is read to {formatNumber(balanceResolution_kg_m3 / 1000, 2, MARKS)} t/m³, so one
				sample says little and the mean of many says more.
			</p>
			{anchor === null || samples.length === 0 ? (
				<p>
					No feed sample yet. Enter its density in the readings under “Mud balance, feed”, at a time
					at which the feed density is read too.
				</p>
			) : known ? (
				<p>
					{samples.length} feed samples: the balance shows{' '}
					<strong>
						{signed(anchor.value as number, 1, MARKS)} ±{' '}
						{formatNumber(2 * (anchor.u as number), 1, MARKS)} kg/m³
					</strong>{' '}
					against the feed densitometer (± 2 u).
				</p>
			) : (
				<p>
					{samples.length === 1 ? 'One feed sample' : `${samples.length} feed samples`} so far;{' '}
					{anchorSamples} are needed for a level.
				</p>
			)}
			{(known || anchor?.applied) && (
				<label className="checks-tick">
					<input
						type="checkbox"
						checked={wanted ?? anchor?.applied ?? false}
						disabled={readOnly || busy}
						onChange={(event) => {
							const { checked } = event.target;
							setWanted(checked);
							void edit('density_level', checked ? 'mud_balance' : 'meters').then((taken) => {
								if (!taken) setWanted(null);
							});
						}}
					/>
					<span>
						Move both densitometers to the level of the mud balance
						{checks.correction === 'none' && (
							<span className="soft"> (counts once meters are corrected)</span>
						)}
					</span>
				</label>
			)}
			{samples.length > 0 && (
				<details className="checks-more">
					<summary>The samples</summary>
					<div className="checks-scroll">
						<table>
							<thead>
								<tr>
									<th scope="col">Time</th>
									<th scope="col" className="figure">
										Ring
									</th>
									<th scope="col" className="figure">
										Balance t/m³
									</th>
									<th scope="col" className="figure">
										Meter t/m³
									</th>
									<th scope="col" className="figure">
										Diff. kg/m³
									</th>
								</tr>
							</thead>
							<tbody>
								{samples.map((sample) => (
									<tr key={sample.time_s}>
										<td>{dateTime(Math.round(sample.time_s), utcOffset_min).slice(0, 16)}</td>
										<td className="figure">{sample.ring ?? ''}</td>
										<td className="figure">{formatNumber(sample.balance, 2, MARKS)}</td>
										<td className="figure">{formatNumber(sample.meter, 3, MARKS)}</td>
										<td className="figure">{signed(sample.difference, 1, MARKS)}</td>
									</tr>
								))}
							</tbody>
						</table>
					</div>
				</details>
			)}
		</section>
	);
}
