import { MODES } from '../../calc/circuit/samples.ts';
import type { LoggerBatch } from '../../calc/drive/loggerrecord.ts';
import type { RecordDecimals } from '../../calc/drive/rounding.ts';
import { isoTime } from '../../calc/quantity/time.ts';

/** Bytes a row can have at most: a stamp with offset, the longest mode, six numbers. */
const LONGEST_ROW = 160;
const ROWS_AT_A_TIME = 16_384;
const COMMA = 44;
const NEWLINE = 10;
const DOT = 46;
const ZERO = 48;
const COLON = 58;
const MINUS = 45;
const DAY_S = 86_400;

/**
 * Writes a logger's record as text in the plain dialect, straight into bytes: a year of seconds is a
 * quarter of a day's formatting by way of strings, and seconds this way.
 */
export class LoggerText {
	readonly #decimals: RecordDecimals;
	readonly #utcOffset_min: number;
	readonly #bytes = Buffer.allocUnsafe(LONGEST_ROW * ROWS_AT_A_TIME);
	readonly #modes = MODES.map((mode) => Buffer.from(`,${mode}`, 'latin1'));
	#at = 0;
	#day = Number.NaN;
	#date = Buffer.alloc(0);
	#zone = Buffer.alloc(0);

	constructor(decimals: RecordDecimals, utcOffset_min: number) {
		this.#decimals = decimals;
		this.#utcOffset_min = utcOffset_min;
	}

	/** The header row; `side`: the record has a side flow. */
	static header(side: boolean): string {
		const columns = [
			'time',
			'mode',
			'feed_flow_m3_h',
			'feed_density_t_m3',
			'return_flow_m3_h',
			'return_density_t_m3',
			'chamber_level_m',
		];
		if (side) columns.push('side_flow_m3_h');
		return `${columns.join(',')}\n`;
	}

	/** Pieces of text of one batch; each is to be used up before the next is asked for. */
	*pieces(batch: LoggerBatch): Generator<Buffer> {
		const { flow, density, level } = this.#decimals;
		const side = batch.sideFlow_m3_h;
		this.#at = 0;
		for (let i = 0; i < batch.count; i++) {
			this.#stamp(batch.time_s[i]!);
			const mode = this.#modes[batch.mode[i]!]!;
			mode.copy(this.#bytes, this.#at);
			this.#at += mode.length;
			this.#number(batch.feedFlow_m3_h[i]!, flow);
			this.#number(batch.feedDensity_t_m3[i]!, density);
			this.#number(batch.returnFlow_m3_h[i]!, flow);
			this.#number(batch.returnDensity_t_m3[i]!, density);
			this.#number(batch.chamberLevel_m[i]!, level);
			if (side) this.#number(side[i]!, flow);
			this.#bytes[this.#at++] = NEWLINE;
			if ((i + 1) % ROWS_AT_A_TIME === 0) {
				yield this.#bytes.subarray(0, this.#at);
				this.#at = 0;
			}
		}
		if (this.#at > 0) yield this.#bytes.subarray(0, this.#at);
	}

	#stamp(time_s: number): void {
		const local = time_s + this.#utcOffset_min * 60;
		const day = Math.floor(local / DAY_S);
		if (day !== this.#day) {
			const text = isoTime(time_s, this.#utcOffset_min);
			this.#day = day;
			this.#date = Buffer.from(text.slice(0, 11), 'latin1');
			this.#zone = Buffer.from(text.slice(19), 'latin1');
		}
		const bytes = this.#bytes;
		let at = this.#at;
		for (let i = 0; i < 11; i++) bytes[at++] = this.#date[i]!;
		const second = local - day * DAY_S;
		const hour = (second / 3600) | 0;
		const minute = ((second - hour * 3600) / 60) | 0;
		const rest = second - hour * 3600 - minute * 60;
		bytes[at++] = ZERO + ((hour / 10) | 0);
		bytes[at++] = ZERO + (hour % 10);
		bytes[at++] = COLON;
		bytes[at++] = ZERO + ((minute / 10) | 0);
		bytes[at++] = ZERO + (minute % 10);
		bytes[at++] = COLON;
		bytes[at++] = ZERO + ((rest / 10) | 0);
		bytes[at++] = ZERO + (rest % 10);
		for (let i = 0; i < this.#zone.length; i++) bytes[at++] = this.#zone[i]!;
		this.#at = at;
	}

	/** A comma and a number with fixed decimals; a missing one (NaN) is left empty. */
	#number(value: number, decimals: number): void {
		const bytes = this.#bytes;
		let at = this.#at;
		bytes[at++] = COMMA;
		if (Number.isNaN(value)) {
			this.#at = at;
			return;
		}
		let scaled = Math.round(Math.abs(value) * 10 ** decimals);
		if (value < 0 && scaled > 0) bytes[at++] = MINUS;
		let digits = 1;
		for (let top = 10; top <= scaled; top *= 10) digits++;
		if (digits <= decimals) digits = decimals + 1;
		const end = at + digits + (decimals > 0 ? 1 : 0);
		let put = end - 1;
		for (let k = 0; k < digits; k++) {
			if (k === decimals && decimals > 0) bytes[put--] = DOT;
			const tenth = Math.floor(scaled / 10);
			bytes[put--] = ZERO + (scaled - tenth * 10);
			scaled = tenth;
		}
		this.#at = end;
	}
}
