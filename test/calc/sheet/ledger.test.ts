import { describe, expect, test } from 'vitest';
import { balanceRing } from '../../../calc/circuit/balance.ts';
import { given } from '../../../calc/circuit/figure.ts';
import { columnsOf } from '../../../calc/sheet/catalogue.ts';
import { LEDGER_FIGURES, ledgerFigure, ledgerRow, ringRecord } from '../../../calc/sheet/ledger.ts';
import { computedReadingCells, readingWorking } from '../../../calc/sheet/readings.ts';
import { ledgerWorking, type RingContext, ringFacts } from '../../../calc/sheet/ringworking.ts';
import { samplesFromReadings } from '../../../calc/sheet/samples.ts';
import { BARE_SETTINGS, steadyRing } from '../circuit/steadyring.ts';

const STATED = {
	...BARE_SETTINGS,
	workingChamberArea_m2: 12,
	chamberMixedVolume_m3: 40,
	feedLineDiameter_m: 0.3,
	returnLineDiameter_m: 0.3,
	returnMeterDistance_m: 100,
	uncertainty: {
		...BARE_SETTINGS.uncertainty,
		flowScale_rel: 0.003,
		flowOffset_m3_s: 0.0005,
		densityOffset_kg_m3: 3,
		densityScale_rel: 0.005,
		diameter_m: 0.005,
		stroke_m: 0.003,
		grainDensity_kg_m3: 15,
		dryDensity_kg_m3: 30,
		level_m: 0.02,
	},
};
const ask = steadyRing({ settings: STATED });
const complete = balanceRing({
	...ask,
	ring: { ...ask.ring, chamberLevelStart_m: 4, chamberLevelEnd_m: 4.1 },
});
const bare = balanceRing({ ...steadyRing(), ground: [] });
const context: RingContext = {
	ring: { ...ask.ring, chamberLevelStart_m: 4, chamberLevelEnd_m: 4.1 },
	settings: STATED,
	ground: ask.ground,
	utcOffset_min: 60,
	marks: { decimal: '.' },
};
/** The keys others script against. */
const KEYS = [
	'ring',
	'mode_seconds',
	'missing_seconds',
	'advance_m',
	'volume_expected_m3',
	'volume_apparent_m3',
	'volume_apparent_u_m3',
	'dry_solids_t',
	'dry_solids_u_t',
	'dry_solids_expected_t',
	'volume_from_solids_m3',
	'ratio_volume',
	'ratio_solids',
	'flags',
];

describe('the ring record scripts read', () => {
	test('has every agreed key, figures in the unit of the key', () => {
		const record = ringRecord(complete);
		expect(Object.keys(record)).toEqual(expect.arrayContaining(KEYS));
		expect(record.volume_apparent_m3).toBeCloseTo(47.896722 + 1.2, 5);
		expect(record.dry_solids_expected_t).toBeCloseTo(76.155787, 5);
		expect(record.mode_seconds).toEqual({ advance: 2100, bypass: 0, back_flush: 0, stop: 0 });
	});

	test('every null has its reason among the flags, naming the column', () => {
		for (const balance of [
			bare,
			balanceRing({
				...steadyRing(),
				ring: { ...ask.ring, advanceStart_s: 1e7, advanceEnd_s: 1e7 + 60 },
			}),
		]) {
			const record = ringRecord(balance);
			const nulls = Object.entries(record).filter(([, value]) => value === null);
			expect(nulls.length).toBeGreaterThan(0);
			for (const [key] of nulls) {
				expect(
					record.flags.some(
						(flag) => flag.startsWith(`blank: ${key}: `) && flag.length > key.length + 12,
					),
				).toBe(true);
			}
		}
	});
});

test('a figure without its u says that nothing is stated of the meters, not what the figure lacks', () => {
	const { value, reasons } = ledgerFigure('volume_apparent_m3', bare);
	expect(value).toBeCloseTo(47.896722, 5);
	expect(reasons.join()).toContain('working chamber area');
	expect(ledgerFigure('volume_apparent_u_m3', bare)).toEqual({
		value: null,
		reasons: ['The uncertainty of the meters is not stated in the drive settings.'],
	});
});

describe('a ring with a bypass correction', () => {
	const corrected = {
		...complete,
		correction: {
			side: 'return',
			flowScale_rel: 0.008,
			uFlowScale_rel: 0.0004,
			flowZero_m3_s: 1 / 3600,
			densityOffset_kg_m3: 9,
			uDensityOffset_kg_m3: 0.3,
			densitySlope: 0.001,
			densityAnchor_kg_m3: -2,
		},
		uncorrected: { volumeApparent_m3: given(53.4, 2), drySolids_kg: given(91_500, 3000) },
	} as const;

	test('shows its figures with and without it in the ledger and in the record', () => {
		const row = ledgerRow(7, corrected, ask.ground);
		expect(row.cells.volume_uncorrected_m3).toBe(53.4);
		expect(row.cells.dry_solids_uncorrected_t).toBe(91.5);
		expect(row.flags).not.toHaveProperty('volume_uncorrected_m3');
		const record = ringRecord(corrected);
		expect(record).toMatchObject({ volume_uncorrected_m3: 53.4, dry_solids_uncorrected_t: 91.5 });
		expect(record.correction).toEqual({
			side: 'return',
			flow_scale_pct: 0.8,
			flow_scale_u_pct: 0.04,
			flow_zero_m3_h: 1,
			density_offset_kg_m3: 9,
			density_offset_u_kg_m3: 0.3,
			density_slope: 0.001,
			density_level_kg_m3: -2,
		});
		expect(ringRecord(complete)).not.toHaveProperty('correction');
	});

	test('says which correction is in force, with its uncertainty', () => {
		const facts = ringFacts(corrected, context).filter(
			(fact) => fact.group === 'Bypass correction in force',
		);
		const plain = (text: string) => text.replaceAll(/\s/gu, ' ');
		expect(facts.map((fact) => plain(`${fact.heading}: ${fact.value}`))).toEqual([
			'Meters corrected: the return meters, to agree with the feed',
			'Return over feed flow in bypass: 0.800 % ± 0.040 % (u, k = 1)',
			'Zero between the flow meters: 1.00 m³/h',
			'Return less feed density in bypass: 9.00 kg/m³ ± 0.30 kg/m³ (u, k = 1)',
			'Slope between the densitometers: 0.0010',
			'Both densities to the mud balance: -2.00 kg/m³',
			expect.stringMatching(/^Volume, uncorrected: 53.40 m³/),
			expect.stringMatching(/^Dry solids, uncorrected: 91.50 t/),
		]);
		const working = ledgerWorking('volume_uncorrected_m3', corrected, context);
		expect(working.lines.map((line) => plain(line.value))).toContain(
			'0.800 % ± 0.040 % (u, k = 1)',
		);
		expect(ringFacts(complete, context).map((fact) => fact.group)).not.toContain(
			'Bypass correction in force',
		);
	});
});

describe('the ledger row on screen', () => {
	test('has a cell for every column of the catalogue, and a reason for every blank', () => {
		for (const balance of [complete, bare]) {
			const row = ledgerRow(7, balance, balance === bare ? [] : ask.ground);
			for (const column of columnsOf('ledger')) {
				expect(row.cells, column.id).toHaveProperty(column.id);
				if (row.cells[column.id] === null && column.id !== 'flags') {
					expect(row.flags?.[column.id]?.length ?? 0, column.id).toBeGreaterThan(0);
				}
			}
		}
	});

	test('says the same as the record', () => {
		const row = ledgerRow(7, complete, ask.ground);
		const record = ringRecord(complete) as unknown as Record<string, unknown>;
		for (const columnId of Object.keys(LEDGER_FIGURES))
			expect(row.cells[columnId]).toBe(record[columnId] ?? null);
	});
});

describe('how a figure was computed', () => {
	test('every ledger column explains itself with numbers, lines and source', () => {
		for (const column of columnsOf('ledger')) {
			const working = ledgerWorking(column.id, complete, context);
			expect(working.formula, column.id).not.toBe('');
			expect(working.source, column.id).not.toBe('');
			if (working.result === 'blank') expect(working.reasons, column.id).not.toEqual([]);
			else if (column.unit !== null) {
				expect(working.lines.length, column.id).toBeGreaterThan(0);
				expect(working.withNumbers, column.id).not.toBe('');
			}
		}
	});

	test('the numbers put in give the result: 397.90 − 350.00 − 0.00 + (1.20) + 0.00 m³', () => {
		const working = ledgerWorking('volume_apparent_m3', complete, context);
		expect(working.withNumbers.replaceAll('\u00a0', ' ')).toBe(
			'397.90 m³ − 350.00 m³ − 0.00 m³ + (1.20 m³) + 0.00 m³',
		);
		expect(working.result.replaceAll('\u00a0', ' ')).toMatch(/^49\.097 m³ ± /);
	});

	test('budget shares add to 100 % and come largest first', () => {
		for (const id of ['volume_apparent_m3', 'dry_solids_t']) {
			const { budget } = ledgerWorking(id, complete, context);
			expect(budget.reduce((sum, one) => sum + one.sharePct, 0)).toBeCloseTo(100, 9);
			for (let i = 1; i < budget.length; i++)
				expect(budget[i - 1]!.sharePct).toBeGreaterThanOrEqual(budget[i]!.sharePct);
		}
	});

	test('a blank figure shows its reason and no numbers', () => {
		const working = ledgerWorking('dry_solids_t', bare, { ...context, ground: [] });
		expect(working.result).toBe('blank');
		expect(working.withNumbers).toBe('');
		expect(working.reasons).toEqual(['The ground sheet has no stratum for this ring.']);
	});

	test('facts of a ring are all formatted, blanks with reasons', () => {
		for (const fact of ringFacts(bare, { ...context, ground: [] })) {
			expect(fact.value).not.toMatch(/NaN|undefined|null/);
		}
		expect(ringFacts(complete, context).map((fact) => fact.group)).toContain('Dry-solids method');
	});
});

describe('computed columns of a reading', () => {
	const reading = {
		time: 600,
		mode: 'advance',
		feed_flow_m3_h: 600,
		feed_density_t_m3: 1.1,
		return_flow_m3_h: 682.108666,
		return_density_t_m3: 1.20713353,
	};
	const place = { settings: BARE_SETTINGS, ground: ask.ground, meters: [], ring: 1 };

	test('difference 82.108666 m³/h; solids rate of the steady ring about 130.6 t/h', () => {
		const { cells, flags } = computedReadingCells(reading, place);
		expect(cells.flow_difference_m3_h).toBeCloseTo(82.108666, 6);
		// 76.155787 t in 35 min is 130.5528 t/h with water of 1000; here water is 999.1026.
		expect(Math.abs(cells.solids_rate_t_h! / 130.5528 - 1)).toBeLessThan(1e-3);
		expect(flags).toEqual({});
	});

	test('what is missing blanks what needs it, and says so', () => {
		const { cells, flags } = computedReadingCells({ ...reading, return_density_t_m3: null }, place);
		expect(cells.flow_difference_m3_h).toBeCloseTo(82.108666, 6);
		expect(cells.return_solids_g_l).toBeNull();
		expect(cells.solids_rate_t_h).toBeNull();
		expect(flags.solids_rate_t_h).toEqual(['return density is missing']);
	});

	test('a density that a certificate takes below water is flagged at the density', () => {
		const meters = [
			{
				meter: 'feed_density' as const,
				validFrom_s: 0,
				slope: 1,
				offset_si: -150,
				certificate: 'B',
			},
		];
		const { flags } = computedReadingCells(reading, { ...place, meters });
		expect(flags.feed_density_t_m3?.[0]).toMatch(/below that of the base water/);
		expect(flags.feed_solids_g_l).toEqual(['the density is below that of water']);
	});

	test('every computed column explains itself', () => {
		for (const column of columnsOf('readings').filter((one) => one.kind === 'computed')) {
			const working = readingWorking(column.id, reading, place, { decimal: '.' });
			expect(working.withNumbers, column.id).not.toBe('');
			expect(working.lines.length, column.id).toBeGreaterThan(1);
		}
	});
});

describe('samples from readings', () => {
	test('units turn to SI, missing is NaN, an unused column is null, the later of equal stamps counts', () => {
		const s = samplesFromReadings([
			{ time: 0, mode: 'bypass', feed_flow_m3_h: 3600, feed_density_t_m3: 1.05 },
			{ time: 60, mode: 'advance', feed_flow_m3_h: 7200, return_density_t_m3: null },
			{ time: 60, mode: 'stop', feed_flow_m3_h: 1800, chamber_level_m: 4 },
		]);
		expect(s.count).toBe(2);
		expect([...s.feedFlow_m3_s]).toEqual([1, 0.5]);
		expect([...s.mode]).toEqual([1, 3]);
		expect(s.returnDensity_kg_m3[1]).toBeNaN();
		expect(s.sideFlow_m3_s).toBeNull();
		expect([...s.chamberLevel_m!]).toEqual([Number.NaN, 4]);
	});
});
