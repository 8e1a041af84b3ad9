import type { Target } from './target.ts';

/**
 * The unit a column without one is likely to be in, told from the size of its figures, and a doubt
 * where another would do as well. Limits are common practice, no source.
 */
export function unitByFigures(
	target: Target,
	figures: readonly number[],
): { readonly unit: string | null; readonly doubt: string | null } {
	const sizes = figures
		.map(Math.abs)
		.filter((size) => size > 0)
		.sort((a, b) => a - b);
	const most = sizes.at(-1);
	const usual = sizes[sizes.length >> 1];
	if (target.units.length === 0) return { unit: null, doubt: null };
	if (most === undefined || usual === undefined)
		return {
			unit: target.keptIn,
			doubt: `no figure to tell the unit from; ${target.keptIn} is taken`,
		};
	const taken = (unit: string, doubt: string | null = null) => ({ unit, doubt });
	const { id } = target;
	if (id.includes('density')) {
		if (usual > 500 && usual < 3500) return taken('kg/m3');
		return usual < 4 ? taken('t/m3') : taken('t/m3', `${usual} is no density in t/m³ or kg/m³`);
	}
	if (id.includes('flow_m3_h')) {
		if (most < 3) return taken('m3/s', 'told from the size of the figures');
		if (most < 60) return taken('m3/min', 'told from the size of the figures');
		return taken('m3/h', 'no unit in the heading; m³/h is taken, L/s would be of like size');
	}
	if (id === 'face_pressure_bar') {
		if (most > 20_000) return taken('Pa');
		return most > 30 ? taken('kPa') : taken('bar');
	}
	if (id === 'chamber_level_m') return most > 50 ? taken('mm') : taken('m');
	if (id.includes('Valve')) return most <= 1 ? taken('1') : taken('%');
	if (id === 'signal:stroke_m') return most > 20 ? taken('mm') : taken('m');
	if (id === 'signal:thrust_N')
		return most > 1e6 ? taken('N') : most > 300 ? taken('kN') : taken('MN');
	if (id === 'signal:torque_N_m')
		return most > 1e5 ? taken('Nm') : most > 50 ? taken('kNm') : taken('MNm');
	return taken(target.keptIn ?? '', 'no unit in the heading');
}
