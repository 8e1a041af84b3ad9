import { spanMargin } from '../../calc/circuit/correction.ts';
import { READINGS_GAP_LIMIT_S } from '../../calc/circuit/gap.ts';
import { lineVolumes } from '../../calc/circuit/line.ts';
import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import type { Samples } from '../../calc/circuit/samples.ts';
import { ringFaultNote } from '../../calc/circuit/signalfaults.ts';
import { ringSpan } from '../../calc/circuit/span.ts';
import { balanceWithAndWithout } from '../../calc/circuit/uncorrected.ts';
import { type Fault, noteFault } from '../../calc/fault/fault.ts';
import type { MeterCorrection } from '../../calc/trust/metercheck.ts';
import { SeriesDamaged } from '../logger/parquet/decode.ts';
import type { KeptChecks, StoredBalance } from '../store/projectfile.ts';
import { balanceInputHash, FARTHEST_REACH_S, FIRST_REACH_S } from './balanceinput.ts';
import { decodeBalance, encodeBalance } from './balancetext.ts';
import { withModes } from './bypasslogger.ts';
import type { DriveModel, RingRow, Touched } from './drivemodel.ts';
import type { LoggerSeries, Progress } from './loggerseries.ts';
import { MeterChecking } from './meterchecking.ts';

/** The balances of all rings of an open document, each made again only when something it looks at changed. */
export class RingLedger {
	readonly #balances = new Map<number, RingBalance>();
	/**
	 * What each balance looks at, by ring row: gone through at every edit, which over the balances
	 * themselves takes long enough to be felt in a long drive.
	 */
	readonly #looksFrom_s: number[] = [];
	readonly #looksTo_s: number[] = [];
	readonly #kept: Map<number, StoredBalance>;
	readonly #series: LoggerSeries | null;
	readonly checking: MeterChecking;

	/**
	 * `kept`, `checks`: balances from the logger, and what a look through its series found, as the
	 * document keeps them. `series`: null when there is none, or it is not beside the document.
	 */
	constructor(
		kept: readonly StoredBalance[],
		series: LoggerSeries | null,
		checks: KeptChecks | null = null,
	) {
		this.#kept = new Map(kept.map((one) => [one.ring, one]));
		this.#series = series;
		this.checking = new MeterChecking(series, checks);
	}

	/** The same series with what else the document keeps now, and nothing balanced yet. */
	withKept(kept: readonly StoredBalance[], checks: KeptChecks | null): RingLedger {
		return new RingLedger(kept, this.#series, checks);
	}

	/** By the row the ring is entered in. */
	balance(ringRow: number): RingBalance | undefined {
		return this.#balances.get(ringRow);
	}

	/**
	 * Makes the balances again that depend on what was touched (all of them for null), and says which
	 * rows that were and what the document should keep of the logger's. Another correction concerns
	 * every ring, since what one bypass window says is spread over the drive.
	 */
	async recalculate(
		model: DriveModel,
		touched: Touched | null,
		progress: Progress,
	): Promise<{
		rows: number[];
		keep: StoredBalance[];
		goneRings: number[];
		checks: KeptChecks | null;
	}> {
		const { changed, keep: checks } = await this.checking.follow(model, touched, progress);
		const concerned = model.rings.filter((ring) => changed || this.#concerns(ring, touched));
		const keep: StoredBalance[] = [];
		const samples = model.readingSamples();
		const { correction, digest } = this.checking;
		let done = 0;
		for (const ring of concerned) {
			const fromLogger = this.#fromLogger(ring);
			if (!fromLogger) this.#put(ring, fromReadings(model, ring, samples, correction));
			else {
				const hash = balanceInputHash(model, ring, digest);
				const kept = this.#keptBalance(ring, hash);
				if (kept !== null) this.#put(ring, kept);
				else {
					const made = await this.#fromSeries(model, ring, samples);
					this.#put(ring, made);
					progress('balancing rings from the logger', done, concerned.length);
					if (made.source === 'logger') {
						const stored = { ring: made.ring, inputHash: hash, balance: encodeBalance(made) };
						this.#kept.set(made.ring, stored);
						keep.push(stored);
					}
				}
			}
			done++;
		}
		if (touched !== null && (touched.spans.length > 0 || Number.isFinite(touched.metersFrom_s)))
			keep.push(...this.#stampAnew(model, concerned));
		const ringsMoved = touched === null || touched.everything || touched.ringRows.size > 0;
		const goneRings = ringsMoved ? this.#forgetGone(model) : [];
		return { rows: concerned.map((ring) => ring.row), keep, goneRings, checks };
	}

	/** Lets go of what is held for rings the drive no longer has; their numbers, where the document kept a balance. */
	#forgetGone(model: DriveModel): number[] {
		const present = new Set(model.rings.map((ring) => ring.row));
		for (const row of this.#balances.keys()) {
			if (present.has(row)) continue;
			this.#balances.delete(row);
			delete this.#looksFrom_s[row];
			delete this.#looksTo_s[row];
		}
		const numbers = new Set(model.rings.map((ring) => ring.input.ring));
		const goneRings = [...this.#kept.keys()].filter((ring) => !numbers.has(ring));
		for (const ring of goneRings) this.#kept.delete(ring);
		return goneRings;
	}

	/** Balances that a set mode or a certificate does not reach though their hash counts it: they stand, the hash does not. */
	#stampAnew(model: DriveModel, concerned: readonly RingRow[]): StoredBalance[] {
		const done = new Set(concerned.map((ring) => ring.row));
		return model.rings.flatMap((ring) => {
			const kept = this.#kept.get(ring.input.ring);
			if (kept === undefined || done.has(ring.row) || !this.#fromLogger(ring)) return [];
			if (this.#balances.get(ring.row)?.source !== 'logger') return [];
			const inputHash = balanceInputHash(model, ring, this.checking.digest);
			if (inputHash === kept.inputHash) return [];
			const stored = { ...kept, inputHash };
			this.#kept.set(ring.input.ring, stored);
			return [stored];
		});
	}

	/** A ring's balance with what is to be said of the logger's signals in it. */
	#put(ring: RingRow, balance: RingBalance): void {
		const note =
			balance.source === 'logger' ? ringFaultNote(this.checking.faults, ring.input) : null;
		this.#balances.set(
			ring.row,
			note === null ? balance : { ...balance, notes: [...balance.notes, note] },
		);
		this.#looksFrom_s[ring.row] = balance.looksFrom_s;
		this.#looksTo_s[ring.row] = balance.looksTo_s;
	}

	/** Samples around a ring to draw, from where its balance had them, with the modes a person has set. */
	async samplesOf(
		model: DriveModel,
		balance: RingBalance,
		span: { from_s: number; to_s: number },
	): Promise<{ samples: Samples; gapLimit_s: number }> {
		if (balance.source === 'logger' && this.#series !== null)
			return {
				samples: withModes(await this.#series.span(span.from_s, span.to_s), model.overrides),
				gapLimit_s: this.#series.gapLimit_s,
			};
		return { samples: model.readingSamples(), gapLimit_s: READINGS_GAP_LIMIT_S };
	}

	close(): void {
		this.#series?.close();
	}

	#concerns(ring: RingRow, touched: Touched | null): boolean {
		if (touched === null || touched.everything || touched.ringRows.has(ring.row)) return true;
		const looksFrom_s = this.#looksFrom_s[ring.row];
		const looksTo_s = this.#looksTo_s[ring.row];
		if (looksFrom_s === undefined || looksTo_s === undefined) return true;
		if (touched.metersFrom_s <= looksTo_s) return true;
		if (touched.spans.some(({ from_s, to_s }) => from_s <= looksTo_s && to_s >= looksFrom_s))
			return true;
		const number = ring.input.ring;
		if (touched.rings.some(({ from, to }) => from <= number && number <= to)) return true;
		return (
			touched.times_s.some((time_s) => time_s >= looksFrom_s && time_s <= looksTo_s) &&
			this.#balances.get(ring.row)?.source !== 'logger'
		);
	}

	#fromLogger({ input }: RingRow): boolean {
		if (this.#series !== null) return this.#series.covers(input.advanceStart_s, input.advanceEnd_s);
		return this.#kept.has(input.ring);
	}

	/** The balance as it was kept, if its inputs are still the same. */
	#keptBalance(ring: RingRow, hash: string): RingBalance | null {
		const stored = this.#kept.get(ring.input.ring);
		if (stored === undefined || stored.inputHash !== hash) return null;
		return decodeBalance(stored.balance);
	}

	/** From the series, or, if that is gone or damaged, from the shift readings with a note that says so. */
	async #fromSeries(model: DriveModel, ring: RingRow, readings: Samples): Promise<RingBalance> {
		const { correction } = this.checking;
		try {
			if (this.#series !== null) return await fromSeries(this.#series, model, ring, correction);
		} catch (error) {
			if (!(error instanceof SeriesDamaged)) throw error;
		}
		const made = fromReadings(model, ring, readings, correction);
		return { ...made, notes: [...made.notes, seriesGone(made.ring)] };
	}
}

async function fromSeries(
	series: LoggerSeries,
	model: DriveModel,
	ring: RingRow,
	correction: MeterCorrection | null,
): Promise<RingBalance> {
	const { input } = ring;
	const margin = spanMargin(correction);
	const lines = lineVolumes(model.settings, input.ring, input.lineExtension_m);
	let samples: Samples;
	let before = -1;
	for (let reach_s = FIRST_REACH_S; ; reach_s *= 4) {
		samples = withModes(
			await series.span(input.advanceStart_s - reach_s, input.advanceEnd_s + reach_s),
			model.overrides,
		);
		const span = ringSpan({
			samples,
			ring: input,
			meters: model.meters,
			feedLine_m3: margin * Math.max(lines.feedStart_m3 ?? 0, lines.feedEnd_m3 ?? 0),
			returnLine_m3: margin * Math.max(lines.returnStart_m3 ?? 0, lines.returnEnd_m3 ?? 0),
			gapLimit_s: series.gapLimit_s,
		});
		const enough = !span.ranOutBefore && !span.ranOutAfter;
		// A reach that brings no more samples has come to the ends of the series.
		if (enough || samples.count === before || reach_s > FARTHEST_REACH_S) break;
		before = samples.count;
	}
	return balanceWithAndWithout({
		...shared(model, ring, correction),
		samples,
		source: 'logger',
		gapLimit_s: series.gapLimit_s,
	});
}

const seriesGone = (ring: number): Fault =>
	noteFault(
		'logger_series_gone',
		'The logger recorded this ring, but its series is not beside the project any more or is damaged; the ring is balanced from the shift readings.',
		{ ring },
	);

function fromReadings(
	model: DriveModel,
	ring: RingRow,
	samples: Samples,
	correction: MeterCorrection | null,
): RingBalance {
	return balanceWithAndWithout({
		...shared(model, ring, correction),
		samples,
		source: 'readings',
		gapLimit_s: READINGS_GAP_LIMIT_S,
	});
}

function shared(model: DriveModel, ring: RingRow, correction: MeterCorrection | null) {
	return {
		correction,
		ring: ring.input,
		settings: model.settings,
		ground: model.ground,
		meters: model.meters,
		referenceLevel_m: model.referenceLevel_m,
	};
}
