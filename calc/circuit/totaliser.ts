import { type Fault, noteFault, stopFault } from '../fault/fault.ts';

/** A totaliser's advance over a stretch of readings. */
export type TotaliserPassage =
	| {
			readonly kind: 'volume';
			readonly volume_m3: number;
			readonly rollOvers: number;
			readonly notes: readonly Fault[];
	  }
	| { readonly kind: 'fault'; readonly fault: Fault };

/**
 * Volume counted between the first and the last of a totaliser's readings, m³.
 * A counter that falls is either rolled over (its capacity must then be given and the missing part
 * must be below half of it) or was reset or replaced: then the stretch cannot be bridged and a fault
 * names the reading. Missing readings (NaN) are passed over.
 *
 * @example
 * totaliserPassage([99990, 99998, 12], 100000) // => { "kind": "volume", "volume_m3": 22, "rollOvers": 1, "notes": [{ "code": "totaliser_rolled_over", "message": "The totaliser passed its end once between these readings.", "where": {}, "weight": "note" }] }
 */
export function totaliserPassage(
	totals_m3: ArrayLike<number>,
	capacity_m3: number | null,
): TotaliserPassage {
	let last = Number.NaN;
	let volume = 0;
	let rollOvers = 0;
	let seen = 0;
	for (let i = 0; i < totals_m3.length; i++) {
		const total = totals_m3[i]!;
		if (Number.isNaN(total)) continue;
		seen++;
		if (seen > 1) {
			const step = total - last;
			if (step >= 0) volume += step;
			else {
				const around = capacity_m3 === null ? Number.NaN : step + capacity_m3;
				if (!(around >= 0 && around < (capacity_m3 ?? 0) / 2)) {
					return {
						kind: 'fault',
						fault: stopFault(
							'totaliser_fell',
							`The totaliser falls from ${last} to ${total} m³: reset, replaced, or rolled over without a known capacity.`,
							{
								value: String(total),
								expected: 'a total that rises, or the capacity of the counter',
							},
						),
					};
				}
				volume += around;
				rollOvers++;
			}
		}
		last = total;
	}
	if (seen < 2) {
		return {
			kind: 'fault',
			fault: stopFault('totaliser_missing', 'Fewer than two totaliser readings in this stretch.'),
		};
	}
	const notes =
		rollOvers === 0
			? []
			: [
					noteFault(
						'totaliser_rolled_over',
						`The totaliser passed its end ${rollOvers === 1 ? 'once' : `${rollOvers} times`} between these readings.`,
					),
				];
	return { kind: 'volume', volume_m3: volume, rollOvers, notes };
}
