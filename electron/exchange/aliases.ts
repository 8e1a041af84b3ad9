import type { ImportedSheetId } from '../contract/sheetexchange.ts';

/**
 * Other names a site's own tables give our columns, in small letters, words parted by blanks.
 * Common practice, no source. Readings have more by their words, as a logger's headings have.
 */
export const ALIASES: Readonly<
	Record<ImportedSheetId, Readonly<Record<string, readonly string[]>>>
> = {
	rings: {
		ring: ['ring no', 'ring number', 'ring nr', 'no', 'nr'],
		advance_start: ['start', 'start of advance', 'advance begin', 'excavation start', 'from'],
		advance_end: ['end', 'end of advance', 'advance finish', 'excavation end', 'to'],
		stroke_start_mm: ['stroke start', 'ram stroke start', 'ram extension start', 'stroke from'],
		stroke_end_mm: ['stroke end', 'ram stroke end', 'ram extension end', 'stroke to'],
		chamber_level_start_m: ['chamber level start', 'level start'],
		chamber_level_end_m: ['chamber level end', 'level end'],
		line_extension_m: ['pipe extension', 'extension of lines'],
		spoil_wet_t: ['weighbridge', 'spoil', 'spoil wet', 'spoil weight', 'muck weighed'],
		spoil_moisture_pct: ['moisture', 'water content', 'spoil water content'],
	},
	ground: {
		from_ring: ['from', 'first ring', 'ring from'],
		to_ring: ['to', 'last ring', 'ring to'],
		stratum: ['soil', 'layer', 'geology', 'soil type'],
		face_fraction: ['share', 'face share', 'fraction', 'share of face'],
		grain_density_t_m3: ['particle density', 'solid density', 'density of grains'],
		dry_density_t_m3: ['in situ dry density', 'bulk dry density'],
		d10_mm: ['d10'],
	},
	readings: {
		time: ['date', 'date time', 'timestamp', 'stamp', 'date and time', 'read at'],
		mode: ['circuit mode', 'operation', 'state', 'valve position'],
		feed_flow_m3_h: ['q feed', 'feed q', 'flow feed'],
		return_flow_m3_h: ['q return', 'return q', 'flow return'],
		feed_density_t_m3: ['density feed', 'rho feed'],
		return_density_t_m3: ['density return', 'rho return'],
		ring: ['ring no', 'ring number', 'ring nr'],
		chamber_level_m: ['level', 'suspension level'],
		side_flow_m3_h: ['flushing water', 'water flow', 'added water'],
		face_pressure_bar: ['support pressure', 'pressure'],
		feed_total_m3: ['feed total', 'feed counter'],
		return_total_m3: ['return total', 'return counter'],
		marsh_s_per_quart: ['marsh', 'marsh time', 'funnel time'],
		sand_pct: ['sand'],
		filtrate_ml: ['filtrate loss', 'fluid loss', 'filter press'],
		yield_point_pa: ['yield', 'yield stress'],
		temperature_c: ['temp', 'suspension temperature'],
		mud_balance_feed_t_m3: ['mud balance feed'],
		mud_balance_return_t_m3: ['mud balance return'],
		entered_by: ['operator', 'name', 'read by', 'by'],
		note: ['notes', 'remark', 'remarks', 'comment', 'comments'],
	},
	meters: {
		meter: ['instrument type', 'which meter'],
		valid_from: ['from', 'valid since', 'date'],
		slope: ['gain', 'factor', 'scale'],
		offset: ['zero', 'intercept'],
		certificate: ['certificate no', 'certificate number', 'record'],
		instrument: ['serial number', 'serial no', 'make'],
		correction_limit: ['limit'],
		standardised_on: ['standardised', 'standardized on', 'last standardised'],
		standardise_every_days: ['standardise every', 'standardised every', 'interval'],
		half_life_years: ['half life'],
	},
	bypass_decisions: {
		from_time: ['from', 'start'],
		to_time: ['to', 'end', 'until'],
		decision: ['verdict'],
		quantity: ['of', 'quantity'],
		why: ['reason', 'remark', 'note'],
	},
	mode_overrides: {
		from_time: ['from', 'start'],
		to_time: ['to', 'end', 'until'],
		mode: ['set to', 'circuit mode'],
		why: ['reason', 'remark', 'note'],
	},
};
