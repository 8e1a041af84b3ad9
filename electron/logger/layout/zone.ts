const DAY_S = 86_400;
/** Offsets change on a quarter of an hour. */
const QUARTER_S = 900;
const FIXED = /^([+-])(\d{2}):(\d{2})$/u;

/** What a local time is in UTC. `repeated`: the clock showed it twice. `missing`: it never did. */
export type LocalReading = 'once' | 'repeated' | 'missing';

/**
 * Local clock of a zone: a fixed offset (`+01:00`, `UTC`) or a named time zone with its daylight
 * saving. A time the clock shows twice is taken for the first showing as long as the record goes
 * forward with it, and then for the second.
 */
export class LocalClock {
	readonly #fixed_s: number | null;
	readonly #format: Intl.DateTimeFormat | null;
	#day = Number.NaN;
	#day_s: number | null = null;
	#quarter = Number.NaN;
	#early_s: number | null = null;
	#late_s: number | null = null;
	/** How the latest time was read. */
	reading: LocalReading = 'once';

	/** Throws RangeError for a zone that is not known. */
	constructor(zone: string) {
		const fixed = FIXED.exec(zone);
		if (zone === 'UTC') this.#fixed_s = 0;
		else if (fixed) {
			const size = Number(fixed[2]) * 3600 + Number(fixed[3]) * 60;
			if (size > 15 * 3600) throw new RangeError(`no offset ${zone}`);
			this.#fixed_s = fixed[1] === '-' ? -size : size;
		} else this.#fixed_s = null;
		this.#format =
			this.#fixed_s === null
				? new Intl.DateTimeFormat('en-US', {
						timeZone: zone,
						hourCycle: 'h23',
						year: 'numeric',
						month: 'numeric',
						day: 'numeric',
						hour: 'numeric',
						minute: 'numeric',
						second: 'numeric',
					})
				: null;
	}

	/** Unix s of a local time given as if it were UTC; NaN if the clock skipped it. `after_s`: the stamp before. */
	toUtc(local_s: number, after_s: number): number {
		if (this.#fixed_s !== null) return local_s - this.#fixed_s;
		const day = Math.floor(local_s / DAY_S);
		if (day !== this.#day) {
			this.#day = day;
			const before = this.#offset_s((day - 1) * DAY_S);
			const after = this.#offset_s((day + 2) * DAY_S);
			this.#day_s = before === after ? before : null;
		}
		this.reading = 'once';
		if (this.#day_s !== null) return local_s - this.#day_s;
		const quarter = Math.floor(local_s / QUARTER_S);
		if (quarter !== this.#quarter) {
			this.#quarter = quarter;
			const start = quarter * QUARTER_S;
			const fits = [this.#offset_s(start - DAY_S), this.#offset_s(start + DAY_S)].filter(
				(offset) => this.#offset_s(start - offset) === offset,
			);
			this.#early_s = fits.length === 0 ? null : Math.max(...fits);
			this.#late_s = fits.length === 0 ? null : Math.min(...fits);
		}
		const { early, late } = { early: this.#early_s, late: this.#late_s };
		if (early === null || late === null) {
			this.reading = 'missing';
			return Number.NaN;
		}
		if (early === late) return local_s - early;
		this.reading = 'repeated';
		return local_s - early > after_s ? local_s - early : local_s - late;
	}

	#offset_s(utc_s: number): number {
		const parts = this.#format?.formatToParts(new Date(utc_s * 1000)) ?? [];
		const read = (type: string): number =>
			Number(parts.find((part) => part.type === type)?.value ?? Number.NaN);
		const local_ms = Date.UTC(
			read('year'),
			read('month') - 1,
			read('day'),
			read('hour'),
			read('minute'),
			read('second'),
		);
		return local_ms / 1000 - utc_s;
	}
}

/** True for a fixed offset or a time zone this machine knows. */
export function isZone(zone: string): boolean {
	try {
		new LocalClock(zone);
		return true;
	} catch {
		return false;
	}
}
