import type { DriveSettings } from './settings.ts';

/**
 * Inner volume of a pipe, m³.
 *
 * @example
 * pipeVolume_m3(0.3, 2000) // => 141.3716694
 */
export function pipeVolume_m3(diameter_m: number, length_m: number): number {
	return (Math.PI / 4) * diameter_m * diameter_m * length_m;
}

/** Suspension between meters and chamber, m³; null where the site has not given diameter or distance. */
export interface LineVolumes {
	readonly feedStart_m3: number | null;
	readonly feedEnd_m3: number | null;
	readonly returnStart_m3: number | null;
	readonly returnEnd_m3: number | null;
	/** Both lines together, grown within the advance window. */
	readonly growth_m3: number | null;
}

/**
 * Volumes of both lines at advance start and end of a ring: length = distance at ring 1 + growth per
 * ring, plus what this ring's own extension adds inside its window.
 *
 * @example
 * lineVolumes({ feedLineDiameter_m: 0.3, returnLineDiameter_m: 0.3, returnMeterDistance_m: 1000, lineGrowth_m_per_ring: 1.5 }, 3, null).returnStart_m3 // => 70.89789
 * lineVolumes({ feedLineDiameter_m: null, returnLineDiameter_m: 0.3, returnMeterDistance_m: 1000, lineGrowth_m_per_ring: null }, 1, null).feedStart_m3 // => null
 */
export function lineVolumes(
	settings: Pick<
		DriveSettings,
		| 'feedLineDiameter_m'
		| 'returnLineDiameter_m'
		| 'returnMeterDistance_m'
		| 'lineGrowth_m_per_ring'
	>,
	ring: number,
	extension_m: number | null,
): LineVolumes {
	const {
		feedLineDiameter_m: feed,
		returnLineDiameter_m: back,
		returnMeterDistance_m: distance,
	} = settings;
	const start =
		distance === null ? null : distance + (settings.lineGrowth_m_per_ring ?? 0) * (ring - 1);
	const end = start === null ? null : start + (extension_m ?? 0);
	const volume = (diameter: number | null, length: number | null): number | null =>
		diameter === null || length === null ? null : pipeVolume_m3(diameter, Math.max(0, length));
	const growth =
		extension_m === null || extension_m === 0
			? 0
			: feed === null || back === null
				? null
				: pipeVolume_m3(feed, extension_m) + pipeVolume_m3(back, extension_m);
	return {
		feedStart_m3: volume(feed, start),
		feedEnd_m3: volume(feed, end),
		returnStart_m3: volume(back, start),
		returnEnd_m3: volume(back, end),
		growth_m3: growth,
	};
}
