import { createHash } from 'node:crypto';
import type { ModeOverride } from '../../calc/circuit/modeoverrides.ts';
import type { DriveModel, RingRow } from './drivemodel.ts';

/** Raised whenever a balance of the same inputs may come out differently: kept ones are then made anew. */
const CALC_VERSION = 2;
/** First look around a ring in the logger's series, and the farthest. */
export const FIRST_REACH_S = 3_600;
export const FARTHEST_REACH_S = 4 * 86_400;
/** The first reach, four times as far while it is within the farthest, is never farther than this. */
const FARTHEST_LOOK_S = 4 * FARTHEST_REACH_S;

/**
 * Everything a ring's balance from the logger depends on besides the series, as one hash: a kept
 * balance is good as long as it is the same. `correction` is the digest of the one in use; empty: none.
 */
export function balanceInputHash(
	model: Pick<DriveModel, 'settings' | 'ground' | 'meters' | 'referenceLevel_m' | 'overrides'>,
	ring: RingRow,
	correction: string,
): string {
	const { title: _title, ...settings } = model.settings;
	const number = ring.input.ring;
	return createHash('sha256')
		.update(
			JSON.stringify([
				CALC_VERSION,
				ring.input,
				settings,
				model.ground.filter((share) => share.fromRing <= number && number <= share.toRing),
				model.meters,
				model.referenceLevel_m,
				correction,
				overridesNear(model.overrides, ring.input),
			]),
		)
		.digest('hex');
}

/** Set modes that a ring can look at; no ring looks farther. */
function overridesNear(
	overrides: readonly ModeOverride[],
	{ advanceStart_s, advanceEnd_s }: RingRow['input'],
): unknown[] {
	return overrides
		.filter(
			({ from_s, to_s }) =>
				from_s <= advanceEnd_s + FARTHEST_LOOK_S && to_s > advanceStart_s - FARTHEST_LOOK_S,
		)
		.map(({ from_s, to_s, mode }) => [from_s, to_s, mode]);
}
