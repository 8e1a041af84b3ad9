import {
	type BypassRules,
	LOGGER_BYPASS_RULES,
	READINGS_BYPASS_RULES,
} from '../../../calc/circuit/bypass.ts';
import { formatNumber } from '../../../calc/quantity/format.ts';
import { METER_CHECK_RULES } from '../../../calc/trust/metercheck.ts';
import { durationText } from '../../charts/ticks.ts';
import { MARKS } from '../../look/marks.ts';

const number = (value: number, decimals: number) => formatNumber(value, decimals, MARKS);
const share = (value: number) => `${number(100 * value, 0)} %`;

const WINDOW_RULES: readonly (readonly [string, (rules: BypassRules) => string])[] = [
	[
		'Left out after and before the valves move',
		(rules) => `${durationText(rules.settle_s)}, ${durationText(rules.settleEnd_s)}`,
	],
	['Shortest stretch', (rules) => durationText(rules.shortest_s)],
	['Fewest readings', (rules) => String(rules.fewest)],
	['Pumps count as running from', (rules) => `${share(rules.leastFlow_rel)} of the median flow`],
	['Largest spread of a flow', (rules) => share(rules.flowSpread_rel)],
	['Largest spread of a density', (rules) => `${number(rules.densitySpread_kg_m3, 0)} kg/m³`],
	['Longest stop that leaves the lines as they were', (rules) => durationText(rules.longestStop_s)],
];

/** The rules windows are judged and smoothed by, as they stand in the calculation. */
export function CheckRules() {
	const { flow, density } = METER_CHECK_RULES;
	return (
		<section className="checks-part">
			<details className="checks-more">
				<summary>The rules of the check</summary>
				<table>
					<thead>
						<tr>
							<th scope="col">A window</th>
							<th scope="col">Logger</th>
							<th scope="col">By hand</th>
						</tr>
					</thead>
					<tbody>
						{WINDOW_RULES.map(([words, of]) => (
							<tr key={words}>
								<th scope="row">{words}</th>
								<td>{of(LOGGER_BYPASS_RULES)}</td>
								<td>{of(READINGS_BYPASS_RULES)}</td>
							</tr>
						))}
					</tbody>
				</table>
				<p className="checks-small">
					Densities are compared suspension by suspension: a return reading with the feed reading
					that the same suspension had, and only after the return line has been filled once with
					suspension that did not pass the chamber.
				</p>
				<table>
					<thead>
						<tr>
							<th scope="col">The smoothed line</th>
							<th scope="col">Flow</th>
							<th scope="col">Density</th>
						</tr>
					</thead>
					<tbody>
						<tr>
							<th scope="row">A window stands apart beyond</th>
							<td>{number(flow.gate, 0)} standard deviations</td>
							<td>{number(density.gate, 0)} standard deviations</td>
						</tr>
						<tr>
							<th scope="row">Smallest change called a step</th>
							<td>{number(100 * flow.leastStep, 1)} %</td>
							<td>{number(density.leastStep, 0)} kg/m³</td>
						</tr>
						<tr>
							<th scope="row">Drift expected in a day</th>
							<td>{number(100 * flow.walkPerDay, 2)} %</td>
							<td>{number(density.walkPerDay, 1)} kg/m³</td>
						</tr>
					</tbody>
				</table>
				<p className="checks-small">
					Two windows after one another that stand apart to the same side and agree with each other
					are a step; one alone is set aside. Common practice, no source.
				</p>
			</details>
		</section>
	);
}
