import { type Fault, noteFault, stopFault } from '../fault/fault.ts';

/** Every sentence the balance can say about a ring, in one place. Codes are stable, wording is not. */

const minutes = (s: number): string => `${(s / 60).toFixed(1)} min`;
const cubic = (m3: number): string => `${m3.toFixed(1)} m³`;

export const NOTES = {
	noSamples: (ring: number): Fault =>
		stopFault('no_samples', 'No reading or logger sample falls in the advance window.', {
			ring,
			expected: 'readings between advance start and end',
		}),
	strokeBackwards: (ring: number): Fault =>
		stopFault('stroke_backwards', 'The stroke at the end is not above the stroke at the start.', {
			ring,
			column: 'stroke_end_mm',
			expected: 'a stroke at the end above the stroke at the start',
		}),
	flowMissing: (ring: number, line: 'feed' | 'return'): Fault =>
		stopFault('flow_missing', `There is no usable ${line} flow for this ring.`, {
			ring,
			column: `${line}_flow_m3_h`,
		}),
	densityMissing: (ring: number, line: 'feed' | 'return'): Fault =>
		stopFault('density_missing', `There is no usable ${line} density for this ring.`, {
			ring,
			column: `${line}_density_t_m3`,
		}),
	tooMuchMissing: (ring: number, missing_s: number, window_s: number): Fault =>
		stopFault(
			'too_much_missing',
			`${minutes(missing_s)} of ${minutes(window_s)} have no usable flow readings: more than half.`,
			{ ring },
		),
	missingTime: (ring: number, missing_s: number, hidden_m3: number): Fault =>
		noteFault(
			'missing_time',
			`${minutes(missing_s)} without usable flow readings, bridged between the readings beside the gap; it could hide up to ${cubic(hidden_m3)}.`,
			{ ring },
		),
	missingDensity: (ring: number, missing_s: number, line: 'feed' | 'return'): Fault =>
		noteFault(
			'missing_density',
			`${minutes(missing_s)} without usable ${line} density, bridged between the readings beside the gap.`,
			{ ring, column: `${line}_density_t_m3` },
		),
	tooMuchDensityMissing: (ring: number, line: 'feed' | 'return'): Fault =>
		stopFault('too_much_missing', `More than half of the ring has no usable ${line} density.`, {
			ring,
			column: `${line}_density_t_m3`,
		}),
	noAdvanceMode: (ring: number): Fault =>
		stopFault(
			'no_advance_mode',
			'No time of the advance window is recorded as flow through the chamber.',
			{ ring, column: 'mode', expected: 'mode advance (or back_flush) in the advance window' },
		),
	modeMissing: (ring: number, s: number): Fault =>
		noteFault(
			'mode_missing',
			`${minutes(s)} of the advance window have no mode and are left out.`,
			{
				ring,
				column: 'mode',
			},
		),
	impossibleFlow: (ring: number, count: number): Fault =>
		noteFault(
			'flow_negative',
			`${count} negative flow reading${count === 1 ? '' : 's'} left out.`,
			{
				ring,
			},
		),
	impossibleDensity: (ring: number, count: number): Fault =>
		noteFault(
			'density_below_water',
			`${count} density reading${count === 1 ? '' : 's'} below water left out.`,
			{ ring },
		),
	chamberAreaMissing: (ring: number): Fault =>
		noteFault(
			'chamber_area_missing',
			'The working chamber area is not given: suspension stored by a change of level is not counted.',
			{ ring, column: 'working_chamber_area_m2' },
		),
	levelMissing: (ring: number, which: 'start' | 'end'): Fault =>
		stopFault(
			'chamber_level_missing',
			`The chamber level at advance ${which} is missing, so the suspension stored is unknown.`,
			{ ring, column: `chamber_level_${which}_m` },
		),
	lineGrowthUnknown: (ring: number): Fault =>
		stopFault(
			'line_diameter_missing',
			'The lines were extended within the advance window, but a line diameter is missing.',
			{ ring, column: 'feed_line_diameter_m' },
		),
	lagUnknown: (ring: number): Fault =>
		noteFault(
			'lag_unknown',
			'Line diameters or the distance of the meters are missing: the solids are taken without transport lag.',
			{ ring, column: 'return_meter_distance_m' },
		),
	chamberVolumeMissing: (ring: number): Fault =>
		noteFault(
			'chamber_volume_missing',
			'The mixed chamber volume is missing: solids held in the chamber are not counted.',
			{ ring, column: 'chamber_mixed_volume_m3' },
		),
	lineNotCleared: (ring: number, left_m3: number): Fault =>
		noteFault(
			'line_not_cleared',
			`Provisional: ${cubic(left_m3)} of this ring's suspension have not passed the return meters yet and are taken at the last return density.`,
			{ ring },
		),
	lineNotReached: (ring: number): Fault =>
		stopFault(
			'line_not_reached',
			"This ring's suspension has not reached the return meters in the record.",
			{ ring, expected: 'readings until the return line has been emptied' },
		),
	feedHistoryShort: (ring: number, short_m3: number): Fault =>
		noteFault(
			'feed_history_short',
			`The record begins ${cubic(short_m3)} of feed too late; that part is taken at the first feed density.`,
			{ ring },
		),
	waterTemperatureMissing: (ring: number, taken_c: number): Fault =>
		noteFault(
			'water_temperature_missing',
			`The water temperature is missing; its density is taken at ${taken_c} °C.`,
			{ ring, column: 'water_temperature_c' },
		),
	uncertaintyNotStated: (ring: number, what: readonly string[]): Fault =>
		noteFault(
			'uncertainty_not_stated',
			`Not stated and so not in the uncertainty: ${what.join(', ')}.`,
			{ ring },
		),
	totaliserDiffers: (ring: number, line: 'feed' | 'return', pct: number): Fault =>
		noteFault(
			'totaliser_differs',
			`The ${line} totaliser and the integrated ${line} flow differ by ${pct.toFixed(1)} %.`,
			{ ring, column: `${line}_total_m3` },
		),
	nothingExpected: (ring: number): Fault =>
		stopFault('expected_not_positive', 'The expected figure is not above 0.', { ring }),
} as const;
