import { CalendarCheck2, CalendarClock } from 'lucide-react';
import { formatNumber } from '../../../calc/quantity/format.ts';
import { dateTime } from '../../../calc/quantity/time.ts';
import type { MeterChecks } from '../../../electron/contract/meterchecks.ts';
import { MARKS } from '../../look/marks.ts';

type Reminder = MeterChecks['reminders'][number];

const METER_WORDS: Readonly<Record<Reminder['meter'], string>> = {
	feed_flow: 'Feed flow',
	return_flow: 'Return flow',
	feed_density: 'Feed density',
	return_density: 'Return density',
};

/** When each meter is to be standardised again, and what is left of a nuclear gauge's source. */
export function MeterReminders({
	reminders,
	utcOffset_min,
}: {
	readonly reminders: readonly Reminder[];
	readonly utcOffset_min: number;
}) {
	const day = (time_s: number) => dateTime(Math.round(time_s), utcOffset_min).slice(0, 10);
	return (
		<section className="checks-part">
			<h3>Standardisation</h3>
			{reminders.length === 0 ? (
				<p className="soft">
					No meter has a standardisation or a source entered. Under Certificates there are columns
					for the day it was done, how often it is due and the half-life of the source.
				</p>
			) : (
				<ul className="checks-reminders">
					{reminders.map((one) => (
						<li key={one.meter} data-status={one.overdue ? 'note' : 'info'}>
							{one.overdue ? (
								<CalendarClock size={14} aria-hidden />
							) : (
								<CalendarCheck2 size={14} aria-hidden />
							)}
							<div>
								<strong>{METER_WORDS[one.meter]}</strong>
								{one.instrument && <span className="soft"> {one.instrument}</span>}
								<div>
									{one.due_s === null
										? one.standardised_s === null
											? 'Never standardised, as far as entered.'
											: `Standardised ${day(one.standardised_s)}; no interval entered.`
										: one.overdue
											? `Standardisation was due on ${day(one.due_s)}.`
											: `Standardisation due on ${day(one.due_s)}.`}
								</div>
								{one.activityLeft !== null && one.halfLife_years !== null && (
									<div className="soft">
										The source has decayed to {formatNumber(100 * one.activityLeft, 2, MARKS)} % of
										what it was on{' '}
										{one.standardised_s === null ? 'that day' : day(one.standardised_s)} (half-life{' '}
										{formatNumber(one.halfLife_years, 2, MARKS)} years).
									</div>
								)}
							</div>
						</li>
					))}
				</ul>
			)}
		</section>
	);
}
