import type { SheetRow } from '../../../calc/sheet/column.ts';
import {
	type Answer,
	type Ask,
	CONTRACT_VERSION,
	type DeskEvent,
	type DeskState,
	type FolderSummary,
	type Reply,
	type RingDetail,
	type VerbName,
	type Working,
} from '../../../electron/contract/verbs.ts';
import type { PageDoor } from '../../../renderer/desk/door.ts';
import { type MadeChecksAsk, madeChecks } from '../charts/madechecks.ts';
import { madeTimeline, START_S } from '../charts/madetimeline.ts';
import { madeLogger } from './madelogger.ts';

export interface Making {
	readonly readOnly: boolean;
	readonly open: boolean;
	readonly recents: number;
	/** A verb that is refused. */
	readonly fails: string | null;
	/** A verb that never answers. */
	readonly slow: string | null;
	readonly level: boolean;
	readonly silence: boolean;
	readonly byHand: boolean;
	readonly nothing: boolean;
	readonly impossible: boolean;
	readonly clean: boolean;
	readonly native: boolean;
	/** Bypass windows of the made-up checks. */
	readonly windows: number;
	/** Modes told by rules and by hand, and faults of signals on the timeline. */
	readonly faulty: boolean;
	/** A logger file differs from what is there; a layout is kept. */
	readonly conflicts: boolean;
	readonly kept: boolean;
	/** An import of logger files was broken off; `gone`: and the file is not there any more. */
	readonly unfinished: '' | 'there' | 'gone';
}

export interface MadeDoor extends PageDoor {
	readonly calls: { verb: string; ask: unknown }[];
}

const RINGS = [41, 42, 43];

const WORKING: Working = {
	heading: 'Apparent volume, ring 42',
	result: '64.31 m³ ± 1.92 m³ (k = 1)',
	reasons: ['4 min without usable flow; up to 5.1 m³ could be hidden in it.'],
	formula: 'V = ∫(Qr − Qf − Qj) dt + ΔV chamber + ΔV lines',
	withNumbers: '64.31 m³ = 841.20 m³ − 775.92 m³ − 0.00 m³ − 0.97 m³ + 0.00 m³',
	lines: [
		{ symbol: '∫Qr dt', name: 'return volume', value: '841.20 m³', from: 'logger, 576 samples' },
		{ symbol: '∫Qf dt', name: 'feed volume', value: '775.92 m³', from: 'logger, 576 samples' },
		{ symbol: '∫Qj dt', name: 'side streams', value: 'missing', from: 'not kept, taken as none' },
		{ symbol: 'A', name: 'working chamber area', value: '9.70 m²', from: 'drive settings' },
		{ symbol: 'Δh', name: 'change of chamber level', value: '−0.10 m', from: 'entered' },
	],
	source: 'mass conservation',
	budget: [
		{
			input: 'return flow meter, scale',
			inputU: '0.15 %',
			contribution: '1.26 m³',
			sharePct: 43.1,
		},
		{ input: 'feed flow meter, scale', inputU: '0.15 %', contribution: '1.16 m³', sharePct: 36.6 },
		{ input: 'missing time', inputU: '240 s', contribution: '0.84 m³', sharePct: 19.2 },
		{ input: 'chamber level', inputU: '0.01 m', contribution: '0.14 m³', sharePct: 1.05 },
		{ input: 'flow noise', inputU: '4 m³/h', contribution: '0.02 m³', sharePct: 0.01 },
	],
	cautions: ['Suspension lost to the ground lowers this figure; water entering raises it.'],
};

const fact = (
	group: string,
	heading: string,
	value: string,
	column: string | null = null,
	reasons: string[] = [],
): RingDetail['facts'][number] => ({ group, heading, value, column, reasons });

const DETAIL = {
	ring: 42,
	facts: [
		fact('Geometry', 'Stratum', 'Fine sand 70 %, silt 30 %'),
		fact('Geometry', 'Advance', '1.502 m', 'advance_m'),
		fact('Geometry', 'Expected volume', '64.81 m³', 'volume_expected_m3'),
		fact('Volume method', 'Feed through the chamber', '775.9 m³'),
		fact('Volume method', 'Return through the chamber', '841.2 m³'),
		fact('Volume method', 'Apparent volume', '64.31 m³', 'volume_apparent_m3', [
			'4 min without usable flow; up to 5.1 m³ could be hidden in it.',
		]),
		fact('Volume method', 'Volume ratio', '0.992', 'ratio_volume'),
		fact('Dry-solids method', 'Dry solids', '—', 'dry_solids_t', [
			'The return density is missing for 11 min of the window the return meters see.',
		]),
		fact('Lag and lines', 'Lag at the end', '4.0 min', 'lag_min'),
		fact('Time', 'Advance time', '36.0 min', 'mode_seconds_advance'),
		fact('Time', 'Missing time', '240 s', 'missing_seconds'),
	],
	notes: ['Side streams are not kept and are taken as none.'],
};

const SUMMARY: FolderSummary = {
	title: 'Invented drive, Nowhere-on-Sill',
	rings: 118,
	readings: 702,
	loggerRows: 864_000,
	faultyRows: 4,
	impossible: false,
	moreFaults: 0,
	faults: [
		{
			code: 'mode_unknown',
			message: 'The mode is not one of the four.',
			weight: 'stop',
			where: {
				file: 'readings.csv',
				row: 7,
				column: 'mode',
				value: 'drill',
				expected: 'advance, bypass, back_flush or stop',
			},
		},
		{
			code: 'number_below',
			message: 'A flow cannot be negative.',
			weight: 'stop',
			where: {
				file: 'readings.csv',
				row: 31,
				column: 'return_flow_m3_h',
				value: '-12',
				expected: '0 to 20,000 m³/h',
			},
		},
		{
			code: 'stroke_backwards',
			message: 'The stroke at the end is below the stroke at the start.',
			weight: 'stop',
			where: {
				file: 'rings.csv',
				row: 18,
				column: 'stroke_end_mm',
				value: '210',
				expected: 'above 1,720 mm',
			},
		},
		{
			code: 'required_missing',
			message: 'The advance end is missing.',
			weight: 'stop',
			where: {
				file: 'rings.csv',
				row: 44,
				column: 'advance_end',
				value: '',
				expected: 'an ISO 8601 time with offset',
			},
		},
		{
			code: 'column_unknown',
			message: 'The column is not known and is left out.',
			weight: 'note',
			where: { file: 'rings.csv', column: 'torque_knm' },
		},
		{
			code: 'outside_plausible',
			message: 'Outside the usual range.',
			weight: 'note',
			where: {
				file: 'ground.csv',
				row: 3,
				column: 'dry_density_t_m3',
				value: '2.41',
				expected: '1.1 to 2.3 t/m³',
			},
		},
	],
};

/** A desk made up for looking at single components: fixed answers, and a drive sheet that can be edited. */
export function madeDoor(making: Making): MadeDoor {
	const hearers = new Set<(event: DeskEvent) => void>();
	const calls: { verb: string; ask: unknown }[] = [];
	let seq = 0;
	const drive: Record<string, number | string | null> = {
		title: 'Invented drive, Nowhere-on-Sill',
		excavated_diameter_m: 7.42,
		nominal_advance_m: 1.5,
		feed_line_diameter_m: 0.3,
		return_line_diameter_m: 0.3,
		return_meter_distance_m: 180,
		line_growth_m_per_ring: 1.5,
		water_temperature_c: 14,
		'uncertainty.flow_scale_rel': 0.0015,
	};
	const decisions: MadeChecksAsk['decisions'][number][] = [];
	const stored = (label: string): Answer<'sheet.add'> => {
		seq++;
		return { changes: { seq, label, sheets: {}, document: document() }, refused: [] };
	};
	const decide = (cells: Readonly<Record<string, string>>): Answer<'sheet.add'> => {
		const from_s = Date.parse(cells.from_time ?? '') / 1000;
		decisions.push({
			row: decisions.length + 1,
			from_s,
			quantity: (cells.quantity ?? null) as 'flow' | 'density' | null,
			decision: cells.decision as 'accept' | 'reject',
			why: cells.why ?? '',
		});
		return stored('decision on a bypass window');
	};
	const checks = (): Answer<'meters.checks'> =>
		madeChecks({
			count: making.windows,
			correction: (drive.meter_correction ?? 'none') as MadeChecksAsk['correction'],
			accepted: (drive.correction_accepted ?? 'none') as MadeChecksAsk['accepted'],
			level: (drive.density_level ?? 'meters') as MadeChecksAsk['level'],
			decisions,
			byHand: making.byHand,
		});
	const document = () => ({
		title: String(drive.title),
		file: 'invented.slurrybook',
		folder: 'Documents',
		readOnly: making.readOnly,
		readOnlyWhy: making.readOnly
			? 'The night shift has it open on the desk of the separation plant since 21:40.'
			: null,
		rings: RINGS.length,
		readings: 702,
		firstRing: 41,
		lastRing: 43,
		hasLogger: true,
		undo: null,
		redo: null,
		journalEntries: seq,
		invented: true,
		utcOffset_min: 60,
	});
	const state = (): DeskState => ({
		contract: CONTRACT_VERSION,
		appVersion: '0.1.0',
		host: 'loopback',
		nativeDialogs: making.native,
		person: 'Day shift',
		document: making.open ? document() : null,
	});
	const driveRow = (): SheetRow => ({ id: 1, cells: { ...drive } });

	const edit = (ask: Ask<'sheet.edit'>): Answer<'sheet.edit'> => {
		const [first] = ask.edits;
		if (!first) throw new Error('no edit');
		const refuse = (
			message: string,
			expected: string,
			readAs: { label: string; text: string }[],
		) => ({
			changes: null,
			refused: [
				{
					row: first.row,
					column: first.column,
					fault: {
						code: 'refused',
						message,
						weight: 'stop' as const,
						where: { column: first.column, value: first.text, expected },
					},
					readAs,
				},
			],
		});
		if (first.text === '1,180') {
			return refuse('The number can be read in two ways.', 'one way of reading', [
				{ label: '1.18', text: '1.18' },
				{ label: '1180', text: '1180' },
			]);
		}
		const words = /^(meter_correction|correction_accepted|density_level)$/.test(first.column);
		const value = words ? first.text : first.text.trim() === '' ? null : Number(first.text);
		if (Number.isNaN(value)) return refuse('This is not a number.', 'a number in m', []);
		drive[first.column] = value;
		seq++;
		return {
			changes: {
				seq,
				label: 'edit',
				sheets: { drive: { rows: [driveRow() as never], removed: [] } },
				document: document(),
			},
			refused: [],
		};
	};
	const listing = (placeId: string | undefined): Answer<'places.list'> => ({
		placeId: placeId ?? 'documents',
		title: placeId === 'drives' ? 'Drives' : placeId === 'up' ? 'Home' : 'Documents',
		parent: placeId === 'up' ? null : { placeId: 'up', title: 'Home' },
		writable: placeId !== 'up',
		entries: [
			{ placeId: 'drives', name: 'Drives', kind: 'folder', modified_s: START_S },
			{
				placeId: 'plain',
				name: 'Invented drive as a plain folder',
				kind: 'driveFolder',
				modified_s: START_S + 90_000,
			},
			{
				placeId: 'p1',
				name: 'Eastern drive.slurrybook',
				kind: 'project',
				modified_s: START_S + 4000,
			},
			{
				placeId: 'p2',
				name: 'Western drive with a rather long name that does not fit at all.slurrybook',
				kind: 'project',
				modified_s: null,
			},
			{
				placeId: 'log1',
				name: 'plant logger 2031-04-07.csv',
				kind: 'file',
				modified_s: START_S,
			},
			{
				placeId: 'log2',
				name: 'plant logger 2031-04-08.csv',
				kind: 'file',
				modified_s: START_S,
			},
			{ placeId: 'f1', name: 'notes.txt', kind: 'file', modified_s: START_S },
		],
	});
	const timeline = (): Answer<'ring.timeline'> => {
		const made = madeTimeline({
			level: making.level,
			faulty: making.faulty,
			...(making.silence ? {} : { silence: null }),
			...(making.byHand ? { step: 300 } : {}),
		});
		if (making.nothing) {
			return {
				...made,
				source: 'none',
				time_s: [],
				feed_flow_m3_h: [],
				return_flow_m3_h: [],
				feed_density_t_m3: [],
				return_density_t_m3: [],
				chamber_level_m: [],
				modes: [],
			};
		}
		return making.byHand ? { ...made, source: 'readings' } : made;
	};

	const answers: { [V in VerbName]?: (ask: Ask<V>) => Answer<V> } = {
		'desk.state': () => state(),
		'recent.list': () =>
			Array.from({ length: making.recents }, (_, i) => ({
				placeId: `recent-${i}`,
				title: [
					'Invented drive, Nowhere-on-Sill',
					'Drive under the lower market',
					'A drive from a stick',
				][i % 3] as string,
				folder: i % 3 === 2 ? 'Stick' : 'Documents / Drives',
				opened_s: START_S - i * 86_400,
				exists: i % 3 !== 2,
			})),
		'places.list': (ask) => listing(ask.placeId),
		'places.chooseFiles': () => [{ placeId: 'log1', title: 'plant logger 2031-04-07.csv' }],
		'places.choose': (ask) =>
			ask.purpose === 'open-folder'
				? { placeId: 'plain', title: 'plain' }
				: { placeId: 'documents', title: 'chosen.slurrybook' },
		'project.open': () => state(),
		'project.openDemo': () => state(),
		'project.create': () => state(),
		'project.createEmpty': () => state(),
		'project.inspectFolder': () =>
			making.clean
				? { ...SUMMARY, faults: [], faultyRows: 0 }
				: making.impossible
					? {
							...SUMMARY,
							impossible: true,
							faults: [
								{
									code: 'file_missing',
									message: 'The folder has no drive.json.',
									weight: 'stop',
									where: {
										file: 'drive.json',
										expected: 'title, excavated_diameter_m and nominal_advance_m',
									},
								},
							],
						}
					: SUMMARY,
		'project.saveCopy': () => ({ file: 'copy.slurrybook' }),
		'project.exportFolder': () => ({
			folder: 'Documents / export',
			files: ['drive.json', 'rings.csv', 'ground.csv', 'readings.csv', 'meters.csv'],
		}),
		'project.check': () => ({
			findings: making.clean ? [] : SUMMARY.faults.slice(3),
			looked: [
				'File: 214 pages, all readable',
				'Journal: 12 entries, unbroken chain',
				'Data: 702 readings, 118 rings',
			],
		}),
		'sheet.rows': (ask) => {
			const rows: SheetRow[] =
				ask.sheet === 'drive'
					? [driveRow()]
					: ask.sheet === 'ledger'
						? RINGS.map((ring) => ({ id: ring, cells: { ring } }))
						: [];
			return { rows: rows as never, total: rows.length };
		},
		'sheet.edit': edit,
		'sheet.add': (ask) => decide(ask.rows[0] ?? {}),
		'sheet.delete': (ask) => {
			const at = decisions.findIndex((one) => one.row === ask.rows[0]);
			if (at >= 0) decisions.splice(at, 1);
			return stored('decision taken back');
		},
		'meters.checks': checks,
		...madeLogger(making),
		'ring.detail': (ask) => ({ ...DETAIL, ring: ask.ring }),
		'ring.timeline': timeline,
		'cell.working': () => WORKING,
	};
	return {
		calls,
		async call<V extends VerbName>(verb: V, ask: Ask<V>): Promise<Reply<Answer<V>>> {
			calls.push({ verb, ask });
			if (making.slow === verb) return new Promise(() => {});
			if (making.fails === verb) {
				return {
					ok: false,
					code: 'made_refusal',
					message: 'The file is locked by another program.',
				};
			}
			const answer = answers[verb];
			if (!answer) return { ok: false, code: 'unknown', message: `${verb} is not made up here.` };
			return { ok: true, value: answer(ask) };
		},
		listen(hear) {
			hearers.add(hear);
			return () => hearers.delete(hear);
		},
		connection: () => 'open',
		onConnection: () => () => {},
	};
}
