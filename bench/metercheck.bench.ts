import type { DriveOptions } from '../calc/drive/plan.ts';
import { type CorrectedSide, checkMeters } from '../calc/trust/metercheck.ts';
import {
	askOf,
	type CheckedRing,
	checkedRings,
	errorsOf,
	OFF,
	type Record,
	recorded,
	withErrorsKnown,
} from '../test/calc/trust/checkeddrive.ts';

// Bypass calibration on invented drives with known truth: errors of every ring's apparent volume and dry
// solids without and with the correction, how soon a step is called, false calls. Deterministic: the same
// table every time. `--seeds N` (20), `--rings N` (30).

const option = (name: string, fallback: number): number => {
	const at = process.argv.indexOf(`--${name}`);
	return at < 0 ? fallback : Number(process.argv[at + 1]);
};
const SEEDS = Array.from({ length: option('seeds', 20) }, (_, i) => i + 1);
const RINGS = option('rings', 30);

interface Way {
	readonly name: string;
	readonly source: Record;
	readonly options: Partial<DriveOptions>;
	readonly side: CorrectedSide;
}
const { meterErrors } = OFF;
const SHARED = {
	feed_flow: { slope: 1.004, offset: 0 },
	return_flow: { slope: 1 / 1.004, offset: 0 },
	feed_density: { slope: 1, offset: 0.0045 },
	return_density: { slope: 1, offset: -0.0045 },
};
const WAYS: readonly Way[] = (['logger', 'readings'] as const).flatMap((source) => [
	{ name: 'as the demo drive', source, options: OFF, side: 'return' as const },
	{
		name: 'long bypass every ring',
		source,
		options: { ...OFF, checkBypassEvery_rings: 1 },
		side: 'return' as const,
	},
	{
		name: 'error on both sides, halved',
		source,
		options: { ...OFF, meterErrors: SHARED },
		side: 'both' as const,
	},
	{
		name: 'error on both sides, return',
		source,
		options: { ...OFF, meterErrors: SHARED },
		side: 'return' as const,
	},
	{
		name: "seed's slopes and zeros too",
		source,
		options: { meters: 'uncorrected', events: 'none' },
		side: 'both' as const,
	},
]);

const cell = (value: number): string => value.toFixed(2).padStart(7);
const row = (name: string, errors: readonly number[], limit: number): string => {
	const e = errorsOf(errors);
	const inside = (part: number): string => `${(100 * e.within(part)).toFixed(1)} %`.padStart(8);
	return `  ${name.padEnd(24)}${cell(e.mean)}${cell(e.rms)}${cell(e.p95)}${cell(e.largest)}  ${inside(limit)} ${inside(limit / 2)}`;
};
const LIMITS = { volume: 0.01, solids: 0.015 };

process.stdout.write(
	`Errors in % of the truth, ${SEEDS.length} seeds (1–${SEEDS.length}) × ${RINGS} rings; limits ±1.0 % of volume, ±1.5 % of dry solids.\n`,
);
for (const way of WAYS) {
	const rings: CheckedRing[] = [];
	let windows = 0;
	for (const seed of SEEDS) {
		const one = recorded({ seed, rings: RINGS, ...way.options }, way.source);
		windows += one.windows.length;
		rings.push(...checkedRings(one, checkMeters({ ...askOf(one.windows), side: way.side })));
	}
	const own = rings.filter(({ balance, volumeAfter, truth }) => {
		const lines = balance.volumeBudget.filter((line) => !line.input.includes('common'));
		const u = Math.hypot(...lines.map((line) => line.contribution));
		return Math.abs(volumeAfter * truth.volumeApparent_m3) <= 2 * u;
	});
	process.stdout.write(
		[
			'',
			`${way.source}, ${way.name}; ${way.side} side corrected; ${(windows / rings.length).toFixed(1)} windows a ring`,
			'                             mean    rms    p95    max    ≤limit  ≤limit/2',
			row(
				'volume, uncorrected',
				rings.map((r) => r.volumeBefore),
				LIMITS.volume,
			),
			row(
				'volume, corrected',
				rings.map((r) => r.volumeAfter),
				LIMITS.volume,
			),
			row(
				'dry solids, uncorrected',
				rings.map((r) => r.solidsBefore),
				LIMITS.solids,
			),
			row(
				'dry solids, corrected',
				rings.map((r) => r.solidsAfter),
				LIMITS.solids,
			),
			`  volume within 2 u of all but the meters' common errors: ${((100 * own.length) / rings.length).toFixed(1)} %`,
			'',
		].join('\n'),
	);
}

process.stdout.write(
	'\nFloor: the same drives with every error but the noise known exactly, and with perfect meters.\n',
);
for (const source of ['logger', 'readings'] as const) {
	for (const [name, options] of [
		['errors known, noise only', OFF],
		['perfect meters', { meters: 'perfect', events: 'none' }],
	] as const) {
		const rings = SEEDS.flatMap((seed) => {
			const one = recorded({ seed, rings: RINGS, ...options }, source);
			return checkedRings(options === OFF ? withErrorsKnown(one) : one);
		});
		const volume = rings.map((r) => r.volumeBefore);
		const solids = rings.map((r) => r.solidsBefore);
		process.stdout.write(
			`${row(`${source}, volume`, volume, LIMITS.volume)}  ${name}\n${row(`${source}, dry solids`, solids, LIMITS.solids)}  ${name}\n`,
		);
	}
}

process.stdout.write('\nSteps of 10 kg/m³ in ring 15, each densitometer: rings until the call.\n');
for (const source of ['logger', 'readings'] as const) {
	const waits: number[] = [];
	for (const seed of SEEDS) {
		for (const meter of ['feed_density', 'return_density'] as const) {
			const one = recorded(
				{
					seed,
					rings: 24,
					...OFF,
					meterErrors: meterErrors ?? null,
					events: [
						{ kind: 'densitometer_step', meter, ring: 15, certifiedAgain: 1000, step_t_m3: 0.01 },
					],
				},
				source,
			);
			// After so many rings, with the windows that had ended when the next one began.
			const after = [1, 2, 3, 4, 5].find((count) => {
				const known_s = one.drive.rings[14 + count]!.advance_start as number;
				const known = one.windows.filter((w) => w.to_s <= known_s);
				const { density } = checkMeters(askOf(known));
				return density?.drift.steps.some((s) => Math.abs(s.size) > 7) ?? false;
			});
			waits.push(after ?? Number.POSITIVE_INFINITY);
		}
	}
	const counted = [1, 2, 3, 4, 5].map((n) => `${n}: ${waits.filter((w) => w === n).length}`);
	process.stdout.write(`  ${source.padEnd(10)}${counted.join('  ')}  of ${waits.length}\n`);
}

process.stdout.write('\nFalse calls in 200 clean rings (flow / density):\n');
for (const source of ['logger', 'readings'] as const) {
	const calls = [11, 12, 13, 14, 15].map((seed) => {
		const { windows } = recorded({ seed, rings: 200, ...OFF }, source);
		const { flow, density } = checkMeters(askOf(windows));
		return `${flow!.drift.steps.length}/${density!.drift.steps.length}`;
	});
	process.stdout.write(`  ${source.padEnd(10)}seeds 11–15: ${calls.join('  ')}\n`);
}
