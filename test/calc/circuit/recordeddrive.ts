import { balanceRing } from '../../../calc/circuit/balance.ts';
import { loggerGapLimit_s } from '../../../calc/circuit/gap.ts';
import type { RingBalance } from '../../../calc/circuit/ringbalance.ts';
import type { Samples } from '../../../calc/circuit/samples.ts';
import type { SimulatedDrive } from '../../../calc/drive/simulate.ts';
import type { RingTruth } from '../../../calc/drive/truth.ts';
import {
	driveSettings,
	groundShare,
	meterCertificate,
	ringInput,
} from '../../../calc/sheet/inputs.ts';

interface Part {
	readonly time: Float64Array;
	readonly mode: Uint8Array;
	readonly qf: Float64Array;
	readonly df: Float64Array;
	readonly qr: Float64Array;
	readonly dr: Float64Array;
	readonly level: Float64Array;
	readonly side: Float64Array | null;
}

/** The whole logger record of a simulated drive as samples, SI. */
export function loggerSamples(drive: SimulatedDrive): Samples {
	const batches: Part[] = [];
	for (const batch of drive.logger()) {
		const { count } = batch;
		batches.push({
			time: batch.time_s.slice(0, count),
			mode: batch.mode.slice(0, count),
			qf: batch.feedFlow_m3_h.slice(0, count),
			df: batch.feedDensity_t_m3.slice(0, count),
			qr: batch.returnFlow_m3_h.slice(0, count),
			dr: batch.returnDensity_t_m3.slice(0, count),
			level: batch.chamberLevel_m.slice(0, count),
			side: batch.sideFlow_m3_h?.slice(0, count) ?? null,
		});
	}
	const total = batches.reduce((sum, one) => sum + one.time.length, 0);
	const join = (of: (one: Part) => Float64Array | null, factor: number) => {
		const out = new Float64Array(total);
		let at = 0;
		for (const one of batches) {
			const part = of(one);
			if (part === null) return null;
			for (let i = 0; i < part.length; i++) out[at++] = part[i]! * factor;
		}
		return out;
	};
	const mode = new Uint8Array(total);
	let at = 0;
	for (const one of batches) {
		mode.set(one.mode, at);
		at += one.mode.length;
	}
	return {
		count: total,
		time_s: join((one) => one.time, 1)!,
		mode,
		feedFlow_m3_s: join((one) => one.qf, 1 / 3600)!,
		feedDensity_kg_m3: join((one) => one.df, 1000)!,
		returnFlow_m3_s: join((one) => one.qr, 1 / 3600)!,
		returnDensity_kg_m3: join((one) => one.dr, 1000)!,
		sideFlow_m3_s: join((one) => one.side, 1 / 3600),
		chamberLevel_m: join((one) => one.level, 1),
		feedTotal_m3: null,
		returnTotal_m3: null,
	};
}

/** Every ring of a simulated drive balanced from the given samples, beside its truth. */
export function balancedBesideTruth(
	drive: SimulatedDrive,
	samples: Samples,
	source: 'logger' | 'readings',
	gapLimit_s = loggerGapLimit_s(samples.time_s.subarray(0, samples.count)),
): { balance: RingBalance; truth: RingTruth }[] {
	const settings = driveSettings(drive.drive);
	const rings = drive.rings.map(ringInput);
	const ground = drive.ground.map(groundShare);
	const meters = drive.meters.map(meterCertificate);
	return rings.map((ring, i) => ({
		balance: balanceRing({
			ring,
			samples,
			source,
			settings,
			ground,
			meters,
			gapLimit_s,
			referenceLevel_m: rings[0]?.chamberLevelStart_m ?? null,
		}),
		truth: drive.truth[i]!,
	}));
}
