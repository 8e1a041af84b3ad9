/**
 * Suspension stored in the working chamber when its level moves, m³ (positive: more held).
 *
 * @example
 * chamberStorage_m3(12, 2.0, 2.25) // => 3
 */
export function chamberStorage_m3(
	area_m2: number,
	levelStart_m: number,
	levelEnd_m: number,
): number {
	return area_m2 * (levelEnd_m - levelStart_m);
}

/**
 * Concentration of a perfectly mixed chamber after a time of steady inflow: exact solution of
 * V dc/dt = Q (c_in − c) + source, V constant. Any concentration unit; source in that unit × m³/s.
 * Throws RangeError for a volume or flow that is not positive.
 *
 * @example
 * mixedChamber({ start: 100, inflow: 40, flow_m3_s: 0.3, volume_m3: 60, source: 0, time_s: 200 }) // => 62.0727664703
 */
export function mixedChamber(step: {
	start: number;
	inflow: number;
	flow_m3_s: number;
	volume_m3: number;
	source: number;
	time_s: number;
}): number {
	const { start, inflow, flow_m3_s: flow, volume_m3: volume, source, time_s } = step;
	if (!(volume > 0)) throw new RangeError(`mixedChamber requires a volume above 0, got ${volume}`);
	if (!(flow > 0)) throw new RangeError(`mixedChamber requires a flow above 0, got ${flow}`);
	const settled = inflow + source / flow;
	return settled + (start - settled) * Math.exp((-flow / volume) * time_s);
}
