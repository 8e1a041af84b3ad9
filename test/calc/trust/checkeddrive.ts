import { balanceRing } from '../../../calc/circuit/balance.ts';
import {
	type BypassWindow,
	bypassWindows,
	certifiedWindow,
	LOGGER_BYPASS_RULES,
	READINGS_BYPASS_RULES,
} from '../../../calc/circuit/bypass.ts';
import { loggerGapLimit_s, READINGS_GAP_LIMIT_S } from '../../../calc/circuit/gap.ts';
import { lineVolumes } from '../../../calc/circuit/line.ts';
import type { RingBalance } from '../../../calc/circuit/ringbalance.ts';
import type { Samples } from '../../../calc/circuit/samples.ts';
import { METERS } from '../../../calc/circuit/settings.ts';
import { DriveMeters } from '../../../calc/drive/meters.ts';
import type { DriveOptions } from '../../../calc/drive/plan.ts';
import { type SimulatedDrive, simulateDrive } from '../../../calc/drive/simulate.ts';
import type { RingTruth } from '../../../calc/drive/truth.ts';
import {
	driveSettings,
	groundShare,
	meterCertificate,
	ringInput,
} from '../../../calc/sheet/inputs.ts';
import { samplesFromReadings } from '../../../calc/sheet/samples.ts';
import {
	checkMeters,
	METER_CHECK_RULES,
	type MeterCheckAsk,
	type MeterCorrection,
} from '../../../calc/trust/metercheck.ts';
import { loggerSamples } from '../circuit/recordeddrive.ts';

/**
 * An invented drive whose return meters disagree with its feed meters: 0.8 % of flow, 9 kg/m³ of
 * density. The feed meters are true but for the seed's drift and noise, so that what is left after
 * the correction is the check's own error. The sizes are the ones the check is meant to mend; drift
 * and noise are the simulator's own (half-day drift of 0.08 % and 0.4 kg/m³ at most per knot; noise
 * 0.15 % and 0.1 % of flow, up to 0.8 and 0.8 kg/m³, a part of it lasting 15 s and 30 s).
 */
export const OFF: Partial<DriveOptions> = {
	meters: 'uncorrected',
	events: 'none',
	meterErrors: {
		feed_flow: { slope: 1, offset: 0 },
		return_flow: { slope: 1 / 1.008, offset: 0 },
		feed_density: { slope: 1, offset: 0 },
		return_density: { slope: 1, offset: -0.009 },
	},
};

export type Record = 'logger' | 'readings';

export interface CheckedRing {
	readonly balance: RingBalance;
	readonly plain: RingBalance;
	readonly truth: RingTruth;
	/** Relative errors of apparent volume and of dry solids, without and with the correction. */
	readonly volumeBefore: number;
	readonly volumeAfter: number;
	readonly solidsBefore: number;
	readonly solidsAfter: number;
}

export interface RecordedDrive {
	readonly drive: SimulatedDrive;
	readonly samples: Samples;
	readonly source: Record;
	readonly gapLimit_s: number;
	readonly windows: readonly BypassWindow[];
}

/** The drive's record and every bypass window in it. */
export function recorded(options: DriveOptions, source: Record): RecordedDrive {
	const drive = simulateDrive(options);
	const samples = source === 'logger' ? loggerSamples(drive) : samplesFromReadings(drive.readings);
	const gapLimit_s =
		source === 'logger'
			? loggerGapLimit_s(samples.time_s.subarray(0, samples.count))
			: READINGS_GAP_LIMIT_S;
	const settings = driveSettings(drive.drive);
	const rings = drive.rings.map(ringInput);
	const certificates = drive.meters.map(meterCertificate);
	const linesAt = (time_s: number) => {
		const next = rings.find((one) => one.advanceEnd_s > time_s) ?? rings.at(-1)!;
		const { feedStart_m3, returnStart_m3 } = lineVolumes(settings, next.ring, null);
		return { feed_m3: feedStart_m3!, return_m3: returnStart_m3! };
	};
	const rules = source === 'logger' ? LOGGER_BYPASS_RULES : READINGS_BYPASS_RULES;
	const windows = bypassWindows(samples, linesAt, rules, gapLimit_s).map((one) =>
		certifiedWindow(one, certificates),
	);
	return { drive, samples, source, gapLimit_s, windows };
}

/** Nothing decided by hand, no limits, the return side corrected. */
export function askOf(windows: readonly BypassWindow[]): MeterCheckAsk {
	return {
		windows,
		decisions: [],
		steps: [],
		mudBalance: [],
		anchored: false,
		side: 'return',
		limits: { flowScale_rel: null, densityOffset_kg_m3: null },
		beyondLimitAccepted: { flow: false, density: false },
		rules: METER_CHECK_RULES,
	};
}

/** Every ring balanced without and with a correction, beside its truth. */
export function checkedRings(
	{ drive, samples, source, gapLimit_s, windows }: RecordedDrive,
	correction: MeterCorrection = checkMeters(askOf(windows)),
): CheckedRing[] {
	const rings = drive.rings.map(ringInput);
	const ask = {
		samples,
		source,
		settings: driveSettings(drive.drive),
		ground: drive.ground.map(groundShare),
		meters: drive.meters.map(meterCertificate),
		gapLimit_s,
		referenceLevel_m: rings[0]?.chamberLevelStart_m ?? null,
	};
	return rings.map((ring, i) => {
		const truth = drive.truth[i]!;
		const plain = balanceRing({ ...ask, ring });
		const balance = balanceRing({ ...ask, ring, correction });
		const grain = balance.grainDensity_kg_m3!;
		const factor = grain / (grain - balance.waterDensity_kg_m3);
		// Dry solids that meters can see: those lost with suspension do not come back.
		const solids = truth.drySolids_kg - factor * truth.lossExcess_kg;
		const off = (value: number | null, of: number): number => value! / of - 1;
		return {
			balance,
			plain,
			truth,
			volumeBefore: off(plain.volumeApparent_m3.value, truth.volumeApparent_m3),
			volumeAfter: off(balance.volumeApparent_m3.value, truth.volumeApparent_m3),
			solidsBefore: off(plain.drySolids_kg.value, solids),
			solidsAfter: off(balance.drySolids_kg.value, solids),
		};
	});
}

/**
 * The same drive with every error of its meters but the noise known exactly: a certificate for each
 * ring from the simulator's own slope, offset and drift. No check can do better than this.
 */
export function withErrorsKnown(record: RecordedDrive): RecordedDrive {
	const { drive } = record;
	const truth = new DriveMeters(drive.plan);
	const meters = drive.rings.flatMap((ring) =>
		METERS.map((meter) => {
			// Drift holds from the beginning of a ring's cycle, up to two minutes before its cut.
			const valid_from = (ring.advance_start as number) - 115;
			const { slope, offset } = truth.errors[meter];
			const drift = truth.driftAt(meter, valid_from);
			return { meter, valid_from, slope, offset: offset - drift, certificate: `ring ${ring.ring}` };
		}),
	);
	return { ...record, drive: { ...drive, meters } };
}

/** Mean, and the part of the sizes within a limit, of signed relative errors; in per cent. */
export function errorsOf(errors: readonly number[]) {
	const sizes = errors.map(Math.abs).sort((a, b) => a - b);
	const at = (part: number): number => 100 * sizes[Math.ceil(part * sizes.length) - 1]!;
	return {
		mean: (100 * errors.reduce((a, b) => a + b, 0)) / errors.length,
		rms: 100 * Math.sqrt(errors.reduce((a, b) => a + b * b, 0) / errors.length),
		p95: at(0.95),
		largest: at(1),
		within: (limit: number): number => sizes.filter((one) => one <= limit).length / sizes.length,
	};
}
