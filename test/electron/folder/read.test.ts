import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { faultLine } from '../../../calc/fault/fault.ts';
import { waterDensity_kg_m3 } from '../../../calc/suspension/water.ts';
import { readFolder } from '../../../electron/folder/read.ts';
import { folderWith, SOUND } from './madefolder.ts';

const changed = (file: string, from: string, to: string): Record<string, string> => {
	const text = SOUND[file] ?? '';
	if (!text.includes(from)) throw new RangeError(`${file} has no ${from}`);
	return { [file]: text.replace(from, to) };
};
const codesOf = async (files: Parameters<typeof folderWith>[0]) =>
	(await readFolder(await folderWith(files))).faults.map((fault) => fault.code);

describe('a sound folder', () => {
	test('is read whole, without a fault', async () => {
		const folder = await folderWith({ 'logger.csv': 'time\n', 'logger-2.csv': 'time\n' });
		const content = await readFolder(folder);
		expect(content.faults).toEqual([]);
		expect(content.drive).toMatchObject({
			title: 'Invented drive under Hollerfeld',
			excavated_diameter_m: 6.6,
			'uncertainty.flow_scale_rel': 0.005,
		});
		expect(content.invented).toBe(true);
		expect(content.utcOffset_min).toBe(60);
		expect(content.rings.map((ring) => ring.ring)).toEqual([1, 2]);
		expect(content.rings[0]?.advance_start).toBe(Date.UTC(2026, 2, 2, 5) / 1000);
		expect(content.ground[1]).toEqual({
			from_ring: 1,
			to_ring: 2,
			stratum: 'Marl',
			face_fraction: 0.4,
			grain_density_t_m3: 2.7,
			dry_density_t_m3: 1.8,
			'passing_0.063_mm': 45,
		});
		expect(content.readings[1]?.note).toBe('pump 2, slow');
		// An empty field is missing, not zero and not an empty text.
		expect(content.readings[0]).not.toHaveProperty('note');
		expect(content.meters).toHaveLength(1);
		expect(content.loggerFiles).toEqual([join(folder, 'logger-2.csv'), join(folder, 'logger.csv')]);
		expect(content).toMatchObject({
			faultyRows: 0,
			moreFaults: 0,
			stopped: false,
			impossible: false,
		});
	});

	test('without readings, ground or meters is still one', async () => {
		const content = await readFolder(
			await folderWith({ 'readings.csv': null, 'ground.csv': null, 'meters.csv': null }),
		);
		expect(content).toMatchObject({ faults: [], impossible: false, readings: [] });
	});

	test('may have a byte order mark, which is noted, and CR LF line ends', async () => {
		const rings = `\ufeff${SOUND['rings.csv']?.replaceAll('\n', '\r\n')}`;
		const content = await readFolder(await folderWith({ 'rings.csv': rings }));
		expect(content.faults.map((fault) => [fault.code, fault.weight])).toEqual([
			['byte_order_mark', 'note'],
		]);
		expect(content.rings).toHaveLength(2);
	});
});

/** One wrong thing at a time: what is told of it, and whether a choice of rows could mend it. */
const WRONG: readonly {
	readonly what: string;
	readonly files: Record<string, string | Uint8Array | null>;
	readonly code: string;
	readonly where: Record<string, unknown>;
	readonly faultyRows?: number;
	readonly impossible?: boolean;
	readonly weight?: 'note';
}[] = [
	{
		what: 'an empty drive.json',
		files: { 'drive.json': '' },
		code: 'file_empty',
		where: { file: 'drive.json', expected: 'an object { … }' },
		impossible: true,
	},
	{
		what: 'a missing column',
		files: changed('rings.csv', 'stroke_end_mm', 'note_of_crew'),
		code: 'heading_missing',
		where: { file: 'rings.csv', row: 1, column: 'stroke_end_mm' },
		faultyRows: 2,
		impossible: true,
	},
	{
		what: 'an unknown column',
		files: changed('readings.csv', ',note', ',weather'),
		code: 'heading_unknown',
		where: { file: 'readings.csv', row: 1, column: 'weather' },
		weight: 'note',
	},
	{
		what: 'a column twice',
		files: changed('rings.csv', 'stroke_end_mm', 'stroke_start_mm'),
		code: 'heading_twice',
		where: { file: 'rings.csv', column: 'stroke_start_mm' },
		faultyRows: 2,
		impossible: true,
	},
	{
		what: 'a heading in another unit',
		files: changed('readings.csv', 'feed_density_t_m3', 'feed_density_kg_m3'),
		code: 'heading_unit',
		where: {
			file: 'readings.csv',
			row: 1,
			value: 'feed_density_kg_m3',
			expected: 'feed_density_t_m3',
		},
		faultyRows: 2,
		impossible: true,
	},
	{
		what: 'a heading without its unit',
		files: changed('readings.csv', 'return_flow_m3_h', 'return_flow'),
		code: 'heading_unit',
		where: { expected: 'return_flow_m3_h' },
		faultyRows: 2,
		impossible: true,
	},
	{
		what: 'a unit the column does not have',
		files: changed('rings.csv', '1900\n2', '1.9 t\n2'),
		code: 'unit_mismatch',
		where: { file: 'rings.csv', row: 2, column: 'stroke_end_mm', value: '1.9 t' },
		faultyRows: 1,
	},
	{
		what: 'a time without offset',
		files: changed('rings.csv', '2026-03-02T08:00:00+01:00', '2026-03-02T08:00:00'),
		code: 'time_without_offset',
		where: { file: 'rings.csv', row: 3, column: 'advance_start', value: '2026-03-02T08:00:00' },
		faultyRows: 1,
	},
	{
		what: 'a date there is not',
		files: changed('rings.csv', '2026-03-02T08:00:00+01:00', '2026-02-30T08:00:00+01:00'),
		code: 'time_impossible',
		where: { row: 3, column: 'advance_start' },
		faultyRows: 1,
	},
	{
		what: 'an unknown mode',
		files: changed('readings.csv', 'advance,910', 'drilling,910'),
		code: 'choice_unknown',
		where: { file: 'readings.csv', row: 3, column: 'mode', value: 'drilling' },
		faultyRows: 1,
	},
	{
		what: 'a negative flow',
		files: changed('readings.csv', 'advance,910', 'advance,-910'),
		code: 'value_below',
		where: { file: 'readings.csv', row: 3, column: 'feed_flow_m3_h', value: '-910' },
		faultyRows: 1,
	},
	{
		what: 'a density below water',
		files: changed('readings.csv', '910,1.08', '910,0.97'),
		code: 'density_below_water',
		where: { file: 'readings.csv', row: 3, column: 'feed_density_t_m3', value: '0.97' },
		faultyRows: 1,
	},
	{
		what: 'an empty required cell',
		files: changed('readings.csv', 'advance,910', 'advance,'),
		code: 'cell_required',
		where: { file: 'readings.csv', row: 3, column: 'feed_flow_m3_h' },
		faultyRows: 1,
	},
	{
		what: 'a ring out of order',
		files: changed(
			'rings.csv',
			'2,2026-03-02T08:00:00+01:00,2026-03-02T08:40:00',
			'2,2026-03-01T08:00:00+01:00,2026-03-01T08:40:00',
		),
		code: 'ring_out_of_turn',
		where: { file: 'rings.csv', row: 3, column: 'advance_start' },
		faultyRows: 1,
	},
	{
		what: 'a stroke going backwards',
		files: changed('rings.csv', '400,1900\n2', '1900,400\n2'),
		code: 'stroke_backwards',
		where: { file: 'rings.csv', row: 2, column: 'stroke_end_mm' },
		faultyRows: 1,
	},
	{
		what: 'rings that overlap',
		files: changed('rings.csv', '2,2026-03-02T08:00:00', '2,2026-03-02T06:30:00'),
		code: 'advance_overlap',
		where: { file: 'rings.csv', row: 3, column: 'advance_start' },
		faultyRows: 1,
	},
	{
		what: 'face fractions that do not add to one',
		files: changed('ground.csv', 'Marl,0.4', 'Marl,0.3'),
		code: 'face_fraction_sum',
		where: { file: 'ground.csv', row: 2, column: 'face_fraction', value: '0.9' },
	},
	{
		what: 'a file of semicolons',
		files: { 'rings.csv': (SOUND['rings.csv'] ?? '').replaceAll(',', ';') },
		code: 'separator',
		where: { file: 'rings.csv', row: 1 },
		impossible: true,
	},
	{
		what: 'too few fields',
		files: changed('rings.csv', '400,1900\n2', '400\n2'),
		code: 'fields_too_few',
		where: { file: 'rings.csv', row: 2 },
		faultyRows: 1,
	},
	{
		what: 'a decimal comma between commas',
		files: changed('readings.csv', '910,1.08', '910,1,08'),
		code: 'fields_too_many',
		where: { file: 'readings.csv', row: 3 },
		faultyRows: 1,
	},
	{
		what: 'a decimal comma in quotation marks',
		files: changed('readings.csv', '910,1.08', '910,"1,08"'),
		code: 'number_decimal_mark',
		where: { file: 'readings.csv', row: 3, column: 'feed_density_t_m3', value: '1,08' },
		faultyRows: 1,
	},
	{
		what: 'a number that can mean two',
		files: changed('readings.csv', '910,1.08', '"1,080",1.08'),
		code: 'number_ambiguous',
		where: { file: 'readings.csv', row: 3, column: 'feed_flow_m3_h', value: '1,080' },
		faultyRows: 1,
	},
	{
		what: 'a quotation mark never closed',
		files: changed('readings.csv', 'slow"', 'slow'),
		code: 'quote_open',
		where: { file: 'readings.csv', row: 3 },
		impossible: true,
	},
	{
		what: 'a binary file',
		files: { 'ground.csv': Uint8Array.from([80, 75, 10, 3, 0, 4]) },
		code: 'file_binary',
		where: { file: 'ground.csv', row: 2 },
		impossible: true,
	},
	{
		what: 'a file that is not UTF-8',
		files: {
			'meters.csv': Uint8Array.from([...new TextEncoder().encode(SOUND['meters.csv']), 0xe9, 10]),
		},
		code: 'file_binary',
		where: { file: 'meters.csv', row: 3 },
		impossible: true,
	},
	{
		what: 'an empty file',
		files: { 'ground.csv': '' },
		code: 'file_empty',
		where: { file: 'ground.csv' },
		impossible: true,
	},
	{
		what: 'a file of a header only',
		files: { 'readings.csv': `${SOUND['readings.csv']?.split('\n')[0]}\n` },
		code: 'rows_none',
		where: { file: 'readings.csv', row: 1 },
		weight: 'note',
	},
	{
		what: 'no drive.json',
		files: { 'drive.json': null },
		code: 'file_missing',
		where: { file: 'drive.json' },
		impossible: true,
	},
	{
		what: 'no rings.csv',
		files: { 'rings.csv': null },
		code: 'file_missing',
		where: { file: 'rings.csv' },
		impossible: true,
	},
	{
		what: 'a drive.json cut short',
		files: { 'drive.json': '{\n\t"title": "x",\n\t"excavated_diameter_m": 6.6,\n}' },
		code: 'json_syntax',
		where: { file: 'drive.json', row: 4 },
		impossible: true,
	},
	{
		what: 'a figure of drive.json as text',
		files: changed('drive.json', '6.6', '"6,6"'),
		code: 'json_type',
		where: { file: 'drive.json', row: 3, column: 'excavated_diameter_m', value: '"6,6"' },
		impossible: true,
	},
	{
		what: 'a key given twice in drive.json',
		files: changed(
			'drive.json',
			'\t"water_temperature_c"',
			'\t"nominal_advance_m": 2,\n\t"water_temperature_c"',
		),
		code: 'key_twice',
		where: { file: 'drive.json', row: 5, column: 'nominal_advance_m', value: '1.5 and 2' },
		impossible: true,
	},
	{
		what: 'a key given twice within the uncertainties',
		files: changed(
			'drive.json',
			'"flow_scale_rel": 0.005',
			'"flow_scale_rel": 0.005,\n\t\t"flow_scale_rel": 0.5',
		),
		code: 'key_twice',
		where: {
			file: 'drive.json',
			row: 8,
			column: 'uncertainty.flow_scale_rel',
			value: '0.005 and 0.5',
		},
	},
	{
		what: 'a number of drive.json that no double holds',
		files: changed('drive.json', '6.6', '1e400'),
		code: 'number_range',
		where: { file: 'drive.json', row: 3, column: 'excavated_diameter_m', value: '1e400' },
		impossible: true,
	},
	{
		what: 'a number of drive.json that would be read as zero',
		files: changed('drive.json', '0.005', '5e-400'),
		code: 'number_range',
		where: { file: 'drive.json', row: 7, column: 'uncertainty.flow_scale_rel', value: '5e-400' },
	},
	{
		what: 'an unknown key of drive.json',
		files: changed('drive.json', 'water_temperature_c', 'water_temperature_k'),
		code: 'key_unknown',
		where: { file: 'drive.json', row: 5, column: 'water_temperature_k' },
		weight: 'note',
	},
	{
		what: 'an unknown table beside the known ones',
		files: { 'weather.csv': 'a\n1\n' },
		code: 'file_unknown',
		where: { file: 'weather.csv' },
		weight: 'note',
	},
];

describe.each(WRONG)(
	'$what',
	({ files, code, where, faultyRows = 0, impossible = false, weight = 'stop' }) => {
		test('is told with its place and what was expected', async () => {
			const content = await readFolder(await folderWith(files));
			const fault = content.faults.find((each) => each.code === code);
			expect(content.faults.map(faultLine).join('\n')).toContain(`[${code}]`);
			expect(fault?.where).toMatchObject(where);
			expect(fault?.weight).toBe(weight);
			if (weight === 'stop') expect(fault?.where.expected).toBeTruthy();
			expect({
				faultyRows: content.faultyRows,
				impossible: content.impossible,
				stopped: content.stopped,
			}).toEqual({ faultyRows, impossible, stopped: weight === 'stop' });
		});
	},
);

test('a drive.json with a key given twice tells nothing else of that key, and an optional one is left out', async () => {
	const content = await readFolder(
		await folderWith(changed('drive.json', '0.005', '0.005, "flow_scale_rel": 0.006')),
	);
	expect(content.faults.map((fault) => fault.code)).toEqual(['key_twice']);
	expect(content.drive['uncertainty.flow_scale_rel']).toBeUndefined();
	expect(content.drive.excavated_diameter_m).toBe(6.6);
});

describe('what is told', () => {
	test('is everything at once', async () => {
		const codes = await codesOf({
			...changed('rings.csv', '400,1900\n2', '1900,400\n2'),
			...changed('readings.csv', 'advance,910', 'drilling,-910'),
			...changed('ground.csv', 'Marl,0.4', 'Marl,0.3'),
		});
		expect(codes).toEqual(
			expect.arrayContaining([
				'stroke_backwards',
				'choice_unknown',
				'value_below',
				'face_fraction_sum',
			]),
		);
	});

	test('names the line a row starts in, also below a note of several lines', async () => {
		const content = await readFolder(
			await folderWith(
				changed(
					'readings.csv',
					'"pump 2, slow"\n',
					'"pump 2,\nslow"\n2026-03-02T06:30:00+01:00,drilling,910,1.08,970,1.20,\n',
				),
			),
		);
		expect(content.readings[1]?.note).toBe('pump 2,\nslow');
		expect(content.faults.map((fault) => fault.where.row)).toEqual([5]);
	});

	test('suggests the heading that was meant', async () => {
		const content = await readFolder(
			await folderWith(changed('readings.csv', ',note', ',chamber_levle_m')),
		);
		expect(content.faults[0]?.where.expected).toBe('chamber_level_m');
	});

	test('is listed up to a thousand and counted beyond', async () => {
		const bad = Array.from({ length: 1500 }, (_, i) => `${i},x,x,x,x`).join('\n');
		const content = await readFolder(
			await folderWith({ 'rings.csv': `${SOUND['rings.csv']?.split('\n')[0]}\n${bad}\n` }),
		);
		expect(content.faults).toHaveLength(1000);
		expect(content.moreFaults).toBe(5000);
		expect(content.faultyRows).toBe(1500);
	});

	test('a file too large or with too many rows is refused before it is held', async () => {
		const folder = await folderWith();
		const small = await readFolder(folder, { bytes: 100, rows: 10 });
		expect(small.faults.map((fault) => fault.code)).toContain('file_too_large');
		const short = await readFolder(folder, { bytes: 1e6, rows: 1 });
		expect(short.faults.map((fault) => fault.code)).toContain('rows_too_many');
		expect([small.impossible, short.impossible]).toEqual([true, true]);
	});

	test('a folder that is not there is a fault, not a crash', async () => {
		const content = await readFolder(join(await folderWith(), 'nowhere'));
		expect(content).toMatchObject({ impossible: true, faults: [{ code: 'folder_unreadable' }] });
	});
});

test('clean water read on a mud balance is taken, a hundredth below it is not', async () => {
	// Mud balance graduated in 0.01 g/cm³: checks.md §3, from memory of ISO 10414-1. Water 0.9991 at 15 °C: Tanaka 2001.
	expect(waterDensity_kg_m3(15, 0)).toBeCloseTo(999.1, 1);
	expect(await codesOf(changed('readings.csv', '910,1.08', '910,0.99'))).not.toContain(
		'density_below_water',
	);
	expect(await codesOf(changed('readings.csv', '910,1.08', '910,0.98'))).toContain(
		'density_below_water',
	);
});
