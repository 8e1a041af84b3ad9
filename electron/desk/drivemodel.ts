import { applyModeOverrides } from '../../calc/circuit/modeoverrides.ts';
import type { MudBalanceSample } from '../../calc/circuit/mudbalance.ts';
import type { Samples } from '../../calc/circuit/samples.ts';
import type {
	DriveSettings,
	GroundShare,
	MeterCertificate,
	RingInput,
} from '../../calc/circuit/settings.ts';
import { modeOverrides, type NumberedRow, type SetMode } from '../../calc/sheet/checkinputs.ts';
import type { EnteredSheetId } from '../../calc/sheet/column.ts';
import {
	driveSettings,
	groundShare,
	meterCertificate,
	ringInput,
} from '../../calc/sheet/inputs.ts';
import type { RowCells } from '../folder/content.ts';
import type { Change } from '../store/change.ts';
import { DRIVE_ROW, type StoredRow } from '../store/rows.ts';
import { ReadingRecord } from './readingrecord.ts';

export type SheetRows = Record<EnteredSheetId, Map<number, RowCells>>;

/** What a gesture touched, as far as the balance is concerned. */
export interface Touched {
	/** Settings, or something every ring looks at, changed. */
	everything: boolean;
	/** Ring rows that came, went or changed. */
	readonly ringRows: Set<number>;
	/** Times at which a reading came, went or changed. */
	readonly times_s: number[];
	/** Ranges of rings whose ground changed. */
	readonly rings: { from: number; to: number }[];
	/** Stretches of time for which a set mode came, went or changed. */
	readonly spans: { from_s: number; to_s: number }[];
	/** Certificates changed from this time on; +∞ if none. */
	metersFrom_s: number;
	/** Rows changed or added, and rows gone, by sheet. */
	readonly rows: Record<EnteredSheetId, Set<number>>;
}

/** A ring with the row it is entered in. */
export interface RingRow {
	readonly row: number;
	readonly input: RingInput;
}

/** The rows of an open document in memory and what the balance makes of them, each made once and again only when its rows change. */
export class DriveModel {
	readonly rows: SheetRows;
	readonly record: ReadingRecord;
	#settings: DriveSettings;
	#ground: GroundShare[];
	#meters: MeterCertificate[];
	#rings: RingRow[];
	#referenceLevel_m: number | null;
	#overrides: readonly SetMode[];

	constructor(load: (sheet: EnteredSheetId) => readonly StoredRow[]) {
		const read = (sheet: EnteredSheetId) =>
			new Map(load(sheet).map((row) => [row.id, row.cells] as const));
		this.rows = {
			drive: read('drive'),
			rings: read('rings'),
			ground: read('ground'),
			readings: read('readings'),
			meters: read('meters'),
			bypass_decisions: read('bypass_decisions'),
			mode_overrides: read('mode_overrides'),
			formulas: read('formulas'),
			limits: read('limits'),
		};
		this.record = new ReadingRecord(this.rows.readings.values());
		this.#settings = driveSettings(this.drive);
		this.#ground = this.#readGround();
		this.#meters = this.#readMeters();
		this.#rings = this.#readRings();
		this.#referenceLevel_m = this.#firstLevel();
		this.#overrides = this.#readOverrides();
	}

	get drive(): RowCells {
		const cells = this.rows.drive.get(DRIVE_ROW);
		if (cells === undefined) throw new RangeError('a document without its drive row');
		return cells;
	}
	get settings(): DriveSettings {
		return this.#settings;
	}
	/** In order of entry. */
	get ground(): readonly GroundShare[] {
		return this.#ground;
	}
	/** By meter and time. */
	get meters(): readonly MeterCertificate[] {
		return this.#meters;
	}
	/** By ring number. */
	get rings(): readonly RingRow[] {
		return this.#rings;
	}
	/** Modes a person has set, in the order in which the later one holds. */
	get overrides(): readonly SetMode[] {
		return this.#overrides;
	}
	/** Rows of the meters sheet in order of entry. */
	get meterRows(): readonly RowCells[] {
		return inRowOrder(this.rows.meters);
	}
	get decisions(): readonly NumberedRow[] {
		return [...this.rows.bypass_decisions].map(([row, cells]) => ({ row, cells }));
	}
	/** Working-chamber level at the first ring's start: where the mixed chamber volume is stated. */
	get referenceLevel_m(): number | null {
		return this.#referenceLevel_m;
	}

	/** Shift readings with the modes a person has set; good until the next {@link apply}. */
	readingSamples(): Samples {
		return applyModeOverrides(this.record.samples(), this.#overrides);
	}

	/** Densities weighed by hand, in order of time. */
	weighed(column: 'mud_balance_feed_t_m3' | 'mud_balance_return_t_m3'): MudBalanceSample[] {
		const found: MudBalanceSample[] = [];
		for (const cells of this.rows.readings.values()) {
			const value = cells[column];
			if (typeof value === 'number')
				found.push({ time_s: Number(cells.time), density_kg_m3: value * 1000 });
		}
		return found.sort((a, b) => a.time_s - b.time_s);
	}

	/** The ring that is being cut at a time or comes next, else the last; undefined without rings. */
	ringNextEnding(time_s: number): number | undefined {
		let low = 0;
		let high = this.#rings.length;
		while (low < high) {
			const middle = (low + high) >> 1;
			if (this.#rings[middle]!.input.advanceEnd_s <= time_s) low = middle + 1;
			else high = middle;
		}
		return (this.#rings[low] ?? this.#rings.at(-1))?.input.ring;
	}

	ringByNumber(ring: number): RingRow | undefined {
		const found = this.#rings[this.placeOfRing(ring)];
		return found?.input.ring === ring ? found : undefined;
	}

	/** Where a ring of that number stands, or would stand, among {@link rings}. */
	placeOfRing(ring: number): number {
		let low = 0;
		let high = this.#rings.length;
		while (low < high) {
			const middle = (low + high) >> 1;
			if (this.#rings[middle]!.input.ring < ring) low = middle + 1;
			else high = middle;
		}
		return low;
	}

	/** Puts a gesture's changes into the rows and says what they touched. */
	apply(changes: readonly Change[]): Touched {
		const before = new Map<EnteredSheetId, Map<number, RowCells | null>>();
		for (const change of changes) {
			const sheet = this.rows[change.sheet];
			let old = before.get(change.sheet);
			if (old === undefined) {
				old = new Map();
				before.set(change.sheet, old);
			}
			const present = sheet.get(change.row);
			if (!old.has(change.row)) old.set(change.row, present ?? null);
			if (change.kind === 'row') {
				if (change.after === null) sheet.delete(change.row);
				else sheet.set(change.row, change.after);
				continue;
			}
			if (present === undefined) throw new RangeError(`${change.sheet} has no row ${change.row}`);
			const { [change.column]: _gone, ...cells } = present;
			if (change.after !== null) cells[change.column] = change.after;
			sheet.set(change.row, cells);
		}
		return this.#follow(before);
	}

	#follow(before: ReadonlyMap<EnteredSheetId, ReadonlyMap<number, RowCells | null>>): Touched {
		const touched: Touched = {
			everything: false,
			ringRows: new Set(),
			times_s: [],
			rings: [],
			spans: [],
			metersFrom_s: Number.POSITIVE_INFINITY,
			rows: {
				drive: new Set(before.get('drive')?.keys()),
				rings: new Set(before.get('rings')?.keys()),
				ground: new Set(before.get('ground')?.keys()),
				readings: new Set(before.get('readings')?.keys()),
				meters: new Set(before.get('meters')?.keys()),
				bypass_decisions: new Set(before.get('bypass_decisions')?.keys()),
				mode_overrides: new Set(before.get('mode_overrides')?.keys()),
				formulas: new Set(before.get('formulas')?.keys()),
				limits: new Set(before.get('limits')?.keys()),
			},
		};
		for (const [sheet, olds] of before)
			for (const [row, old] of olds) {
				const now = this.rows[sheet].get(row) ?? null;
				for (const cells of [old, now]) if (cells !== null) touch(touched, sheet, row, cells);
			}
		if (touched.rows.drive.size > 0) {
			const settings = driveSettings(this.drive);
			// The drive's name is in no figure.
			if (!sameFigures(settings, this.#settings)) touched.everything = true;
			this.#settings = settings;
		}
		if (touched.rows.ground.size > 0) this.#ground = this.#readGround();
		if (touched.rows.meters.size > 0) this.#meters = this.#readMeters();
		if (touched.rows.rings.size > 0) {
			this.#rings = this.#readRings();
			const level = this.#firstLevel();
			if (level !== this.#referenceLevel_m) touched.everything = true;
			this.#referenceLevel_m = level;
		}
		if (touched.rows.mode_overrides.size > 0) this.#overrides = this.#readOverrides();
		const readings = before.get('readings');
		if (readings !== undefined) {
			const kept = this.record.keptColumns();
			this.record.apply(
				[...readings].map(([row, old]) => ({
					before: old,
					after: this.rows.readings.get(row) ?? null,
				})),
				() => this.rows.readings.values(),
			);
			if (this.record.keptColumns() !== kept) touched.everything = true;
		}
		return touched;
	}

	#readRings(): RingRow[] {
		return [...this.rows.rings]
			.map(([row, cells]) => ({ row, input: ringInput(cells) }))
			.sort((a, b) => a.input.ring - b.input.ring || a.row - b.row);
	}

	#readGround(): GroundShare[] {
		return inRowOrder(this.rows.ground).map(groundShare);
	}

	#readMeters(): MeterCertificate[] {
		return inRowOrder(this.rows.meters)
			.map(meterCertificate)
			.sort((a, b) =>
				a.meter === b.meter ? a.validFrom_s - b.validFrom_s : a.meter < b.meter ? -1 : 1,
			);
	}

	#readOverrides(): readonly SetMode[] {
		return modeOverrides([...this.rows.mode_overrides].map(([row, cells]) => ({ row, cells })));
	}

	#firstLevel(): number | null {
		return this.#rings[0]?.input.chamberLevelStart_m ?? null;
	}
}

function sameFigures(a: DriveSettings, b: DriveSettings): boolean {
	return JSON.stringify({ ...a, title: '' }) === JSON.stringify({ ...b, title: '' });
}

function inRowOrder(rows: ReadonlyMap<number, RowCells>): RowCells[] {
	return [...rows].sort((a, b) => a[0] - b[0]).map(([, cells]) => cells);
}

function touch(touched: Touched, sheet: EnteredSheetId, row: number, cells: RowCells): void {
	switch (sheet) {
		case 'rings':
			touched.ringRows.add(row);
			break;
		case 'readings':
			touched.times_s.push(Number(cells.time));
			break;
		case 'ground':
			touched.rings.push({ from: Number(cells.from_ring), to: Number(cells.to_ring) });
			break;
		case 'drive':
			// Judged by what the settings as a whole become.
			break;
		case 'meters':
			touched.metersFrom_s = Math.min(touched.metersFrom_s, Number(cells.valid_from));
			break;
		case 'bypass_decisions':
			// Judged by what the correction as a whole becomes.
			break;
		case 'formulas':
		case 'limits':
			// In no balance.
			break;
		case 'mode_overrides':
			touched.spans.push({ from_s: Number(cells.from_time), to_s: Number(cells.to_time) });
			break;
	}
}
