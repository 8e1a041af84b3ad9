import { STOPPED_NOISE_M3_S } from '../circuit/series.ts';
import { type Fault, type FaultPlace, noteFault, stopFault } from '../fault/fault.ts';
import { FACE_SUM_TOLERANCE } from '../ground/facemix.ts';
import { fromSi } from '../quantity/convert.ts';
import { sumOf } from '../quantity/sum.ts';
import { isoTime } from '../quantity/time.ts';
import { findUnit } from '../quantity/unit.ts';
import { findColumn, passingSize_mm } from './catalogue.ts';
import type { CellValue, EnteredSheetId } from './column.ts';
import { nameTrouble } from './ownname.ts';

/** Rules between the cells of a row and between the rows of a sheet. Single cells are read by `readCell`. */

type Cells = Readonly<Record<string, CellValue>>;

const number = (cells: Cells, id: string): number | null => {
	const value = cells[id];
	return typeof value === 'number' ? value : null;
};

/** A densitometer whose true value is this far from its reading is not offset: the unit was mistaken. */
const FARTHEST_DENSITY_OFFSET_T_M3 = 1;

/**
 * Rules between the cells of one row, in the units of the catalogue: advance and stroke run forward,
 * ranges of rings too, a dry density below its grain density, a sieve curve that does not fall, no
 * flow in a stopped circuit, an overcut for an overcut angle, a density offset in t/m³, a stretch of
 * time that ends after it begins, a formula column whose name and unit can be used, limits of a
 * column that holds figures. Cells that are missing are not judged. Times in the faults are told
 * `utcOffset_min` east of UTC.
 *
 * @example
 * checkRow('rings', { ring: 12, stroke_start_mm: 1900, stroke_end_mm: 400 }).map((f) => f.code) // => ["stroke_backwards"]
 * checkRow('ground', { from_ring: 1, to_ring: 40, grain_density_t_m3: 2.65, dry_density_t_m3: 1.6 }) // => []
 */
export function checkRow(sheet: EnteredSheetId, cells: Cells, utcOffset_min = 0): Fault[] {
	switch (sheet) {
		case 'drive':
			return checkDrive(cells);
		case 'rings':
			return checkRing(cells, utcOffset_min);
		case 'ground':
			return checkGround(cells);
		case 'readings':
			return checkReading(cells);
		case 'meters':
			return checkMeter(cells);
		case 'bypass_decisions':
		case 'mode_overrides':
			return checkStretch(sheet, cells, utcOffset_min);
		case 'formulas':
			return checkFormulaColumn(cells);
		case 'limits':
			return checkLimits(cells);
	}
}

/** The fault if both cells are there and `wrong` of them, else nothing. */
function pair(
	cells: Cells,
	firstId: string,
	secondId: string,
	wrong: (first: number, second: number) => boolean,
	make: (first: number, second: number) => Fault,
): Fault[] {
	const first = number(cells, firstId);
	const second = number(cells, secondId);
	return first !== null && second !== null && wrong(first, second) ? [make(first, second)] : [];
}

function checkDrive(cells: Cells): Fault[] {
	if (number(cells, 'overcut_angle_deg') === null || number(cells, 'overcut_mm') !== null)
		return [];
	return [
		noteFault(
			'overcut_missing',
			'An overcut angle is given without an overcut; it has no effect.',
			{
				column: 'overcut_angle_deg',
			},
		),
	];
}

function checkRing(cells: Cells, utcOffset_min: number): Fault[] {
	const ring = number(cells, 'ring');
	const place: FaultPlace = ring === null ? {} : { ring };
	return [
		...pair(
			cells,
			'advance_start',
			'advance_end',
			(start, end) => end <= start,
			(_, end) =>
				stopFault('advance_backwards', 'The advance ends before it starts.', {
					...place,
					column: 'advance_end',
					value: isoTime(end, utcOffset_min),
					expected: 'a time after the advance start',
				}),
		),
		...pair(
			cells,
			'stroke_start_mm',
			'stroke_end_mm',
			(start, end) => end <= start,
			(start, end) =>
				stopFault('stroke_backwards', 'The thrust rams end no farther out than they started.', {
					...place,
					column: 'stroke_end_mm',
					value: String(end),
					expected: `more than ${start} mm`,
				}),
		),
	];
}

function checkGround(cells: Cells): Fault[] {
	return [
		...pair(
			cells,
			'from_ring',
			'to_ring',
			(from, to) => to < from,
			(from, to) =>
				stopFault('ring_range_backwards', 'The range ends before it begins.', {
					column: 'to_ring',
					value: String(to),
					expected: `${from} or more`,
				}),
		),
		...pair(
			cells,
			'grain_density_t_m3',
			'dry_density_t_m3',
			(grain, dry) => dry >= grain,
			(grain, dry) =>
				stopFault('dry_density_not_below_grain', 'The ground cannot be denser than its grains.', {
					column: 'dry_density_t_m3',
					value: String(dry),
					expected: `less than the grain density, ${grain} t/m³`,
				}),
		),
		...checkSieves(cells),
	];
}

function checkSieves(cells: Cells): Fault[] {
	const passing = Object.keys(cells)
		.map((id) => ({ id, size: passingSize_mm(id), share: number(cells, id) }))
		.filter((sieve) => sieve.size !== null && sieve.share !== null)
		.sort((a, b) => Number(a.size) - Number(b.size));
	const faults: Fault[] = [];
	for (let i = 1; i < passing.length; i++) {
		const finer = passing[i - 1];
		const coarser = passing[i];
		if (!finer || !coarser || Number(coarser.share) >= Number(finer.share)) continue;
		faults.push(
			stopFault('passing_falls', `Less passes this sieve than the ${finer.size} mm one.`, {
				column: coarser.id,
				value: String(coarser.share),
				expected: `${finer.share} % or more`,
			}),
		);
	}
	return faults;
}

function checkReading(cells: Cells): Fault[] {
	if (cells.mode !== 'stop') return [];
	const noise_m3_h = fromSi(STOPPED_NOISE_M3_S, 'm3/h');
	return ['feed_flow_m3_h', 'return_flow_m3_h'].flatMap((column) => {
		const flow = number(cells, column);
		if (flow === null || Math.abs(flow) <= noise_m3_h) return [];
		return noteFault('flow_while_stopped', 'The circuit is stopped and the meter shows a flow.', {
			column,
			value: String(flow),
			expected: `no more than ${Math.round(noise_m3_h)} m³/h, or another mode`,
		});
	});
}

function checkMeter(cells: Cells): Fault[] {
	const offset = number(cells, 'offset');
	const meter = cells.meter;
	const isDensity = meter === 'feed_density' || meter === 'return_density';
	if (!isDensity || offset === null || Math.abs(offset) <= FARTHEST_DENSITY_OFFSET_T_M3) return [];
	return [
		stopFault('offset_unit', 'The offset of a densitometer is in t/m³.', {
			column: 'offset',
			value: String(offset),
			expected: `no more than ${FARTHEST_DENSITY_OFFSET_T_M3} t/m³ either way`,
		}),
	];
}

/** Name and unit of a column people add; its formula is for calc/formula to judge. */
function checkFormulaColumn(cells: Cells): Fault[] {
	const { sheet, column_id: name, unit } = cells;
	const faults: Fault[] = [];
	if (typeof name === 'string') {
		const own = sheet === 'ledger' || sheet === 'readings' ? findColumn(sheet, name) : undefined;
		const trouble =
			nameTrouble(name) ??
			(own === undefined ? null : `${name} is ${own.heading} of the sheet ${sheet}`);
		if (trouble !== null)
			faults.push(
				stopFault('formula_name', `A formula column cannot be called this: ${trouble}.`, {
					column: 'column_id',
					value: name.slice(0, 80),
					expected: 'a name that is not taken, such as volume_loss',
				}),
			);
	}
	if (typeof unit === 'string' && unit !== '1' && findUnit(unit) === null)
		faults.push(
			stopFault('unit_unknown', 'This unit is not known.', {
				column: 'unit',
				value: unit.slice(0, 80),
				expected: 'a unit such as m3, t, t/m3, %, or nothing for a plain number',
			}),
		);
	return faults;
}

/** Limits of one column: at least one, low below high, of a column that holds figures. */
function checkLimits(cells: Cells): Fault[] {
	const { sheet, column_id: name, unit } = cells;
	const faults: Fault[] = [];
	if (typeof name === 'string' && typeof sheet === 'string') {
		const column = findColumn(sheet as EnteredSheetId, name);
		const known = column
			? column.type === 'number' || column.type === 'integer'
			: (sheet === 'ledger' || sheet === 'readings') && nameTrouble(name) === null;
		if (!known)
			faults.push(
				stopFault('limit_column', `The sheet ${sheet} has no figures in a column of this name.`, {
					column: 'column_id',
					value: name.slice(0, 80),
					expected: 'the name of a column of figures, such as return_density_t_m3',
				}),
			);
	}
	if (typeof unit === 'string' && unit !== '1' && findUnit(unit) === null)
		faults.push(
			stopFault('unit_unknown', 'This unit is not known.', {
				column: 'unit',
				value: unit.slice(0, 80),
				expected: 'a unit such as m3, t, t/m3, %, or nothing for a plain number',
			}),
		);
	if (number(cells, 'low') === null && number(cells, 'high') === null)
		faults.push(
			stopFault('limits_empty', 'Neither a low nor a high limit is given.', {
				column: 'high',
				expected: 'one of them at least',
			}),
		);
	faults.push(
		...pair(
			cells,
			'low',
			'high',
			(low, high) => high <= low,
			(low, high) =>
				stopFault('limits_crossed', 'The high limit is not above the low one.', {
					column: 'high',
					value: String(high),
					expected: `a figure above ${low}`,
				}),
		),
	);
	return faults;
}

function checkWatched(rows: readonly Cells[]): Fault[] {
	return namedAgain(rows).map((at) =>
		stopFault('limits_twice', 'The column has limits already.', {
			row: at + 1,
			column: 'column_id',
			value: String(rows[at]?.column_id),
			expected: 'each column once',
		}),
	);
}

/** Places of rows that name a column of a sheet that a row before names already. */
function namedAgain(rows: readonly Cells[]): number[] {
	const seen = new Set<string>();
	return rows.flatMap(({ sheet, column_id }, at) => {
		const known = seen.size;
		seen.add(`${sheet} ${column_id}`);
		return seen.size === known ? [at] : [];
	});
}

/** More columns than anyone reads, few enough to be worked out at every edit. */
const MOST_FORMULA_COLUMNS = 100;

function checkNames(rows: readonly Cells[]): Fault[] {
	const taken = rows.slice(0, MOST_FORMULA_COLUMNS);
	const twice = namedAgain(taken).map((at) =>
		stopFault('formula_name_twice', 'Another formula column of the sheet has this name.', {
			row: at + 1,
			column: 'column_id',
			value: String(rows[at]?.column_id),
			expected: 'each name once a sheet',
		}),
	);
	const many = rows.slice(MOST_FORMULA_COLUMNS).map((_, more) =>
		stopFault('formulas_many', 'There are more formula columns than are taken.', {
			row: MOST_FORMULA_COLUMNS + more + 1,
			column: 'column_id',
			expected: `no more than ${MOST_FORMULA_COLUMNS} in all`,
		}),
	);
	return [...twice, ...many];
}

/** A window of paired readings may be a single moment, a mode must be set for some time. */
function checkStretch(
	sheet: 'bypass_decisions' | 'mode_overrides',
	cells: Cells,
	utcOffset_min: number,
): Fault[] {
	return pair(
		cells,
		'from_time',
		'to_time',
		(from, to) => (sheet === 'mode_overrides' ? to <= from : to < from),
		(from, to) =>
			stopFault('stretch_backwards', 'The stretch ends before it begins.', {
				column: 'to_time',
				value: isoTime(to, utcOffset_min),
				expected: `a time after ${isoTime(from, utcOffset_min)}`,
			}),
	);
}

/**
 * Rules between the rows of a sheet: rings once each, their advances in the order of their numbers
 * and not overlapping; face fractions of every ring adding to 1 (one stratum may stand in a face
 * twice, above and below another); one reading a time; one certificate a meter and time. Rows out of
 * order are noted: they are put in order and change nothing. Decisions and set modes that overlap and
 * say different things are noted too, with the one that holds. `where.row` is the place in the list given, the first being 1.
 *
 * @example
 * checkSheet('rings', [{ ring: 7, advance_start: 0, advance_end: 1800 }, { ring: 8, advance_start: 1500, advance_end: 3000 }]).map((f) => [f.code, f.where.row, f.where.ring]) // => [["advance_overlap",2,8]]
 * checkSheet('ground', [{ from_ring: 1, to_ring: 9, stratum: 'sand', face_fraction: 0.7 }]).map((f) => f.message) // => ["The face fractions of rings 1 to 9 add to 0.7."]
 */
export function checkSheet(
	sheet: EnteredSheetId,
	rows: readonly Cells[],
	utcOffset_min = 0,
): Fault[] {
	switch (sheet) {
		case 'drive':
			return [];
		case 'rings':
			return checkRings(rows, utcOffset_min);
		case 'ground':
			return checkFaces(rows);
		case 'readings':
			return checkTimes(rows, utcOffset_min);
		case 'meters':
			return checkCertificates(rows, utcOffset_min);
		case 'bypass_decisions':
		case 'mode_overrides':
			return checkStretches(sheet, rows, utcOffset_min);
		case 'formulas':
			return checkNames(rows);
		case 'limits':
			return checkWatched(rows);
	}
}

interface RingLine {
	readonly row: number;
	readonly ring: number;
	readonly start: number | null;
	readonly end: number | null;
}

function checkRings(rows: readonly Cells[], utcOffset_min: number): Fault[] {
	const faults: Fault[] = [];
	const lines: RingLine[] = [];
	let last: number | null = null;
	rows.forEach((cells, at) => {
		const ring = number(cells, 'ring');
		if (ring === null) return;
		if (last !== null && ring < last)
			faults.push(
				noteFault('ring_out_of_order', `Ring ${ring} stands after ring ${last}.`, {
					row: at + 1,
					ring,
					column: 'ring',
					value: String(ring),
				}),
			);
		last = ring;
		lines.push({
			row: at + 1,
			ring,
			start: number(cells, 'advance_start'),
			end: number(cells, 'advance_end'),
		});
	});
	lines.sort((a, b) => a.ring - b.ring || a.row - b.row);
	const once: RingLine[] = [];
	for (const line of lines) {
		if (line.ring === once.at(-1)?.ring) faults.push(ringTwice(line));
		else once.push(line);
	}
	return [...faults, ...checkTurns(once, utcOffset_min)];
}

function ringTwice({ row, ring }: RingLine): Fault {
	return stopFault('ring_twice', `Ring ${ring} is entered more than once.`, {
		row,
		ring,
		column: 'ring',
		value: String(ring),
		expected: 'each ring once',
	});
}

/** Rings by number, each once: are they cut one after the other? */
function checkTurns(rings: readonly RingLine[], utcOffset_min: number): Fault[] {
	const timed = rings.filter((line): line is TimedRing => line.start !== null);
	const inTurn = longestInTurn(timed);
	const following: (TimedRing | null)[] = [];
	for (let i = timed.length - 1, next: TimedRing | null = null; i >= 0; i--) {
		following[i] = next;
		const line = timed[i];
		if (line && inTurn.has(line)) next = line;
	}
	const faults: Fault[] = [];
	let before: TimedRing | null = null;
	timed.forEach((line, i) => {
		if (inTurn.has(line)) {
			if (before?.end != null && line.start < before.end)
				faults.push(
					stopFault(
						'advance_overlap',
						`The advance of ring ${line.ring} starts before that of ring ${before.ring} has ended.`,
						{
							...startOf(line, utcOffset_min),
							expected: `${isoTime(before.end, utcOffset_min)} or later`,
						},
					),
				);
			before = line;
			return;
		}
		faults.push(outOfTurn(line, before, following[i] ?? null, utcOffset_min));
	});
	return faults;
}

type TimedRing = RingLine & { readonly start: number };

const startOf = (line: TimedRing, utcOffset_min: number): FaultPlace => ({
	row: line.row,
	ring: line.ring,
	column: 'advance_start',
	value: isoTime(line.start, utcOffset_min),
});

function outOfTurn(
	line: TimedRing,
	before: TimedRing | null,
	after: TimedRing | null,
	utcOffset_min: number,
): Fault {
	const early = before !== null && line.start < before.start;
	const other = early ? before : after;
	return stopFault(
		'ring_out_of_turn',
		`Ring ${line.ring} was cut ${early ? 'before' : 'after'} ring ${other?.ring}, which has the ${early ? 'lower' : 'higher'} number.`,
		{
			...startOf(line, utcOffset_min),
			expected: [
				...(before === null
					? []
					: [`a time after ${isoTime(before.end ?? before.start, utcOffset_min)}`]),
				...(after === null ? [] : [`a time before ${isoTime(after.start, utcOffset_min)}`]),
			].join(' and '),
		},
	);
}

/**
 * The most rings that can stand as they are: the longest run in order of number whose starts do not
 * fall. So one mistyped time is one fault, and not one for every ring after it. Of two rings that
 * cannot both be right the lower number stands. Found from the last ring to the first by patience.
 */
function longestInTurn(rings: readonly TimedRing[]): ReadonlySet<TimedRing> {
	/** For each length of run, the one found so far that begins latest, by index of its first ring. */
	const heads: number[] = [];
	const next: (number | undefined)[] = [];
	const start = (i: number | undefined): number => (i === undefined ? 0 : (rings[i]?.start ?? 0));
	for (let i = rings.length - 1; i >= 0; i--) {
		let low = 0;
		let high = heads.length;
		while (low < high) {
			const middle = (low + high) >> 1;
			if (start(heads[middle]) >= start(i)) low = middle + 1;
			else high = middle;
		}
		next[i] = low === 0 ? undefined : heads[low - 1];
		heads[low] = i;
	}
	const run = new Set<TimedRing>();
	for (let i = heads.at(-1); i !== undefined; i = next[i]) {
		const ring = rings[i];
		if (ring) run.add(ring);
	}
	return run;
}

interface Share {
	readonly row: number;
	readonly from: number;
	readonly to: number;
	readonly fraction: number;
}

/** Faces are alike between the rings at which a share begins or ends, so only those are looked at. */
function checkFaces(rows: readonly Cells[]): Fault[] {
	const shares: Share[] = [];
	rows.forEach((cells, at) => {
		const from = number(cells, 'from_ring');
		const to = number(cells, 'to_ring');
		const fraction = number(cells, 'face_fraction');
		if (from === null || to === null || fraction === null || to < from) return;
		shares.push({ row: at + 1, from, to, fraction });
	});
	const edges = [...new Set(shares.flatMap((share) => [share.from, share.to + 1]))].sort(
		(a, b) => a - b,
	);
	shares.sort((a, b) => a.from - b.from || a.row - b.row);
	const faults: Fault[] = [];
	let inFace: Share[] = [];
	let next = 0;
	edges.forEach((from, i) => {
		const to = (edges[i + 1] ?? from) - 1;
		inFace = inFace.filter((share) => share.to >= from);
		for (let share = shares[next]; share && share.from === from; share = shares[++next])
			inFace.push(share);
		if (inFace.length > 0) faults.push(...checkFace(inFace, from, to));
	});
	return faults;
}

function checkFace(inFace: readonly Share[], from: number, to: number): Fault[] {
	const rings = from === to ? `ring ${from}` : `rings ${from} to ${to}`;
	const together = sumOf(inFace.map((share) => share.fraction));
	if (Math.abs(together - 1) <= FACE_SUM_TOLERANCE) return [];
	const sum = String(Number(together.toFixed(4)));
	return [
		stopFault('face_fraction_sum', `The face fractions of ${rings} add to ${sum}.`, {
			row: Math.min(...inFace.map((share) => share.row)),
			ring: from,
			column: 'face_fraction',
			value: sum,
			expected: 'a sum of 1',
		}),
	];
}

function checkTimes(rows: readonly Cells[], utcOffset_min: number): Fault[] {
	const faults: Fault[] = [];
	const seen = new Set<number>();
	let latest: number | null = null;
	rows.forEach((cells, at) => {
		const time = number(cells, 'time');
		if (time === null) return;
		const where = { row: at + 1, column: 'time', value: isoTime(time, utcOffset_min) };
		if (seen.has(time))
			faults.push(
				stopFault('reading_twice', 'There is another reading at this time.', {
					...where,
					expected: 'one reading a time',
				}),
			);
		else if (latest !== null && time < latest)
			faults.push(
				noteFault('reading_out_of_order', 'This reading stands after a later one.', where),
			);
		seen.add(time);
		latest = latest === null ? time : Math.max(latest, time);
	});
	return faults;
}

function checkCertificates(rows: readonly Cells[], utcOffset_min: number): Fault[] {
	const faults: Fault[] = [];
	const seen = new Set<string>();
	rows.forEach((cells, at) => {
		const from = number(cells, 'valid_from');
		if (from === null || typeof cells.meter !== 'string') return;
		const key = `${cells.meter} ${from}`;
		if (seen.has(key))
			faults.push(
				stopFault('certificate_twice', 'This meter has another entry from the same time.', {
					row: at + 1,
					column: 'valid_from',
					value: isoTime(from, utcOffset_min),
					expected: 'one entry a meter and time',
				}),
			);
		seen.add(key);
	});
	return faults;
}

function checkStretches(
	sheet: 'bypass_decisions' | 'mode_overrides',
	rows: readonly Cells[],
	utcOffset_min: number,
): Fault[] {
	const said = sheet === 'mode_overrides' ? 'mode' : 'decision';
	const stretches = rows.flatMap((cells, at) => {
		const from = number(cells, 'from_time');
		const to = number(cells, 'to_time');
		return from === null || to === null ? [] : [{ row: at + 1, from, to, cells }];
	});
	stretches.sort((a, b) => a.from - b.from || a.row - b.row);
	const faults: Fault[] = [];
	let widest: (typeof stretches)[number] | null = null;
	for (const stretch of stretches) {
		if (
			widest !== null &&
			stretch.from < widest.to &&
			stretch.cells[said] !== widest.cells[said] &&
			(stretch.cells.quantity ?? null) === (widest.cells.quantity ?? null)
		)
			faults.push(
				noteFault(
					'stretches_overlap',
					'Another row says otherwise of a part of this time; the one that begins later holds.',
					{ row: stretch.row, column: 'from_time', value: isoTime(stretch.from, utcOffset_min) },
				),
			);
		if (widest === null || stretch.to > widest.to) widest = stretch;
	}
	return faults;
}
