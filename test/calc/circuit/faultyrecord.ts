import type { FaultSignal } from '../../../calc/circuit/faultrules.ts';
import type { Samples } from '../../../calc/circuit/samples.ts';
import { simulateDrive } from '../../../calc/drive/simulate.ts';
import type { RingTruth } from '../../../calc/drive/truth.ts';
import { loggerSamples } from './recordeddrive.ts';

/** A simulated drive's record in which nothing is wrong, with totalisers to a tenth of a cubic metre. */
export function cleanRecord(
	seed: number,
	rings: number,
	options: Partial<Parameters<typeof simulateDrive>[0]> = {},
): { record: Samples; truth: readonly RingTruth[] } {
	const drive = simulateDrive({ seed, rings, events: 'none', ...options });
	const record = loggerSamples(drive);
	const total = (flow: Float64Array): Float64Array => {
		let sum = 12_345;
		return flow.map((q, i) => {
			if (i > 0) sum += q * (record.time_s[i]! - record.time_s[i - 1]!);
			return Math.round(sum * 10) / 10;
		});
	};
	return {
		record: {
			...record,
			feedTotal_m3: total(record.feedFlow_m3_s),
			returnTotal_m3: total(record.returnFlow_m3_s),
		},
		truth: drive.truth,
	};
}

/** A copy of a record with one column changed. */
export function withColumn(
	record: Samples,
	signal: FaultSignal | 'time_s',
	change: (column: Float64Array) => void,
): Samples {
	const column = record[signal]!.slice();
	change(column);
	return { ...record, [signal]: column };
}

/** The rows of a record named by index, in that order; a row may come twice. */
export function rowsOf(record: Samples, rows: readonly number[]): Samples {
	const pick = (column: Float64Array | null): Float64Array | null =>
		column === null ? null : Float64Array.from(rows, (i) => column[i]!);
	return {
		count: rows.length,
		time_s: pick(record.time_s)!,
		mode: Uint8Array.from(rows, (i) => record.mode[i]!),
		feedFlow_m3_s: pick(record.feedFlow_m3_s)!,
		feedDensity_kg_m3: pick(record.feedDensity_kg_m3)!,
		returnFlow_m3_s: pick(record.returnFlow_m3_s)!,
		returnDensity_kg_m3: pick(record.returnDensity_kg_m3)!,
		sideFlow_m3_s: pick(record.sideFlow_m3_s),
		chamberLevel_m: pick(record.chamberLevel_m),
		feedTotal_m3: pick(record.feedTotal_m3),
		returnTotal_m3: pick(record.returnTotal_m3),
	};
}
