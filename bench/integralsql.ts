/**
 * The same per-ring integrals in SQL, written on their own: trapezoid of Q, and of Q·ρ with both
 * linear within a step, over steps that lie inside a ring's advance window. `order`: `stamps` sorts
 * by time, `file` trusts the order of the rows. `more`: further columns of figures the file has.
 */
export function integralSql(
	logger: string,
	rings: string,
	order: 'stamps' | 'file',
	more: readonly string[] = [],
): string {
	const quoted = (path: string): string => `'${path.replaceAll("'", "''")}'`;
	const over = order === 'stamps' ? '(ORDER BY t)' : '()';
	const before = ['t', 'qf', 'rf', 'qr', 'rr'].map((name) => `lag(${name}) OVER w AS ${name}0`);
	const product = (q: string, r: string): string =>
		`sum((t - t0) * (${q}0 * ${r}0 + ${q} * ${r} + (${q}0 + ${q}) * (${r}0 + ${r})) / 6)`;
	return `
		WITH s AS (
			SELECT epoch(time) AS t, feed_flow_m3_h / 3600 AS qf, feed_density_t_m3 AS rf,
				return_flow_m3_h / 3600 AS qr, return_density_t_m3 AS rr
			FROM read_csv(${quoted(logger)}, header = true, delim = ',', quote = '', columns = {
				time: 'TIMESTAMPTZ', mode: 'VARCHAR', feed_flow_m3_h: 'DOUBLE', feed_density_t_m3: 'DOUBLE',
				return_flow_m3_h: 'DOUBLE', return_density_t_m3: 'DOUBLE', chamber_level_m: 'DOUBLE',
				face_pressure_bar: 'DOUBLE'${more.map((name) => `, ${name}: 'DOUBLE'`).join('')} })),
		l AS (SELECT *, ${before.join(', ')} FROM s WINDOW w AS ${over}),
		r AS (SELECT ring, epoch(advance_start::TIMESTAMPTZ) AS a, epoch(advance_end::TIMESTAMPTZ) AS b
			FROM read_csv(${quoted(rings)}, header = true, all_varchar = true))
		SELECT CAST(r.ring AS INTEGER) AS ring, sum((t - t0) * (qf0 + qf) / 2), sum((t - t0) * (qr0 + qr) / 2),
			${product('qf', 'rf')}, ${product('qr', 'rr')}
		FROM l ASOF JOIN r ON l.t0 >= r.a
		WHERE l.t <= r.b
		GROUP BY 1 ORDER BY 1`;
}
