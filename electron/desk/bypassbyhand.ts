import {
	type BypassWindow,
	bypassStretches,
	compareInBypass,
	type LoopVolumes,
	READINGS_BYPASS_RULES,
} from '../../calc/circuit/bypass.ts';
import { READINGS_GAP_LIMIT_S } from '../../calc/circuit/gap.ts';
import { linesAt, reachOf } from './bypasslogger.ts';
import type { DriveModel, Touched } from './drivemodel.ts';

interface KnownWindow {
	readonly window: BypassWindow;
	readonly lines: LoopVolumes | null;
	/** A reading before this time cannot change the window. */
	readonly looksFrom_s: number;
	/** Something it looks at changed since it was compared. */
	stale: boolean;
}

/** The bypass windows among the shift readings, each compared again only when something it looks at changed. */
export class BypassByHand {
	/** By the first stamp of the window. */
	#known = new Map<number, KnownWindow>();

	/** Marks what a gesture may have changed, so that it is compared again; all of it for null. */
	follow(touched: Touched | null): void {
		const all = touched === null || touched.spans.length > 0;
		const times_s = touched?.times_s ?? [];
		if (!all && times_s.length === 0) return;
		for (const known of this.#known.values())
			known.stale ||=
				all || times_s.some((time_s) => time_s >= known.looksFrom_s && time_s <= known.window.to_s);
	}

	/** All windows in order of time; one that came out the same is the same object as before. */
	windows(model: DriveModel): BypassWindow[] {
		const samples = model.readingSamples();
		const { time_s } = samples;
		const now = new Map<number, KnownWindow>();
		for (const stretch of bypassStretches(samples, READINGS_GAP_LIMIT_S)) {
			const from_s = time_s[stretch[0]]!;
			const lines = linesAt(model, from_s);
			const known = this.#known.get(from_s);
			if (
				known !== undefined &&
				!known.stale &&
				known.window.to_s === time_s[stretch[1] - 1] &&
				known.lines?.feed_m3 === lines?.feed_m3 &&
				known.lines?.return_m3 === lines?.return_m3
			) {
				now.set(from_s, known);
				continue;
			}
			const reach = lines === null ? stretch[0] : reachOf(samples, stretch[0], lines);
			const window = compareInBypass(samples, stretch, lines, READINGS_BYPASS_RULES);
			const same = known !== undefined && JSON.stringify(known.window) === JSON.stringify(window);
			now.set(from_s, {
				window: same ? known.window : window,
				lines,
				looksFrom_s: reach === null ? Number.NEGATIVE_INFINITY : time_s[reach]!,
				stale: false,
			});
		}
		this.#known = now;
		return [...now.values()].map((one) => one.window);
	}
}
