import { DuckDBInstance } from '@duckdb/node-api';
import { expect, test } from 'vitest';
import { Chance } from '../../../calc/drive/chance.ts';
import { planFormulas } from '../../../calc/formula/columns.ts';
import { FormulaFigures } from '../../../calc/formula/recalculate.ts';
import { columnOf, rowsOf } from './columnsof.ts';

// Reference: SQL window functions of DuckDB. SQL leaves missing values out of its frames and shortens
// them at the beginning; ours are blank there, which the counts beside them say in SQL.

const ROWS = 400;
const WINDOW = 7;
const FRAME = `OVER (ORDER BY i ROWS ${WINDOW - 1} PRECEDING)`;
const whole = (expression: string) =>
	`CASE WHEN count(x) ${FRAME} = ${WINDOW} THEN ${expression} ${FRAME} END`;
const PAIRS = [
	[`mean(dry_solids_t, ${WINDOW})`, whole('avg(x)')],
	[`std(dry_solids_t, ${WINDOW})`, whole('stddev_samp(x)')],
	[`sum(dry_solids_t, ${WINDOW})`, whole('sum(x)')],
	[
		'total(dry_solids_t)',
		'CASE WHEN count(x) OVER (ORDER BY i) = i THEN sum(x) OVER (ORDER BY i) END',
	],
	['previous(dry_solids_t)', 'lag(x) OVER (ORDER BY i)'],
	['change(dry_solids_t)', 'x - lag(x) OVER (ORDER BY i)'],
	[
		`mean(dry_solids_t * 2 - previous(dry_solids_t), ${WINDOW})`,
		`CASE WHEN count(y) ${FRAME} = ${WINDOW} THEN avg(y) ${FRAME} END`,
	],
	['at_ring(dry_solids_t, ring - 3)', 'lag(x, 3) OVER (ORDER BY i)'],
	['at_ring(dry_solids_t, 40)', '(SELECT x FROM d WHERE i = 40)'],
	[
		'dry_solids_t > mean(dry_solids_t, 3) ? dry_solids_t : -total(dry_solids_t)',
		`CASE WHEN count(x) OVER w < 3 THEN NULL WHEN x > avg(x) OVER w THEN x
			WHEN count(x) OVER (ORDER BY i) = i THEN -sum(x) OVER (ORDER BY i) END`,
	],
] as const;

for (const holes of [false, true])
	test(`figures over rows are those of SQL window functions${holes ? ', with figures missing' : ''}`, async () => {
		const chance = new Chance(holes ? 5 : 6, 'windows');
		const values = Array.from({ length: ROWS }, () =>
			holes && chance.happens(0.04) ? null : chance.between(80, 120),
		);
		const plan = planFormulas(
			'ledger',
			PAIRS.map(([text], at) => columnOf(`made_${at}`, text, 't')),
		);
		expect(plan.columns.map((one) => one.fault)).toEqual(PAIRS.map(() => null));
		const figures = new FormulaFigures(
			plan,
			rowsOf(values.map((dry_solids_t, row) => ({ dry_solids_t, ring: row + 1 }))),
		);
		const connection = await (await DuckDBInstance.create(':memory:')).connect();
		try {
			await connection.run(
				`CREATE TABLE raw AS SELECT * FROM (VALUES ${values
					.map((x, at) => `(${at + 1}, ${x === null ? 'NULL' : `${x}`}::DOUBLE)`)
					.join(', ')}) AS t(i, x)`,
			);
			await connection.run(
				'CREATE TABLE d AS SELECT i, x, x * 2 - lag(x) OVER (ORDER BY i) AS y FROM raw',
			);
			const reader = await connection.runAndReadAll(
				`SELECT ${PAIRS.map(([, sql]) => sql).join(', ')} FROM d
				WINDOW w AS (ORDER BY i ROWS 2 PRECEDING) ORDER BY i`,
			);
			const theirs = reader.getRows();
			expect(theirs).toHaveLength(ROWS);
			let compared = 0;
			for (const [row, expected] of theirs.entries()) {
				for (const [at, [text]] of PAIRS.entries()) {
					const value = figures.value(`made_${at}`, row);
					const theirValue = expected[at] ?? null;
					const place = `${text}, row ${row + 1}`;
					if (theirValue === null) {
						expect(value, place).toBeNull();
						continue;
					}
					compared++;
					expect(value, place).not.toBeNull();
					expect(Math.abs((value ?? 0) - Number(theirValue)), place).toBeLessThanOrEqual(
						1e-12 * Math.max(Math.abs(Number(theirValue)), 1),
					);
				}
			}
			expect(compared).toBeGreaterThan(ROWS * (holes ? 4 : 9));
		} finally {
			connection.closeSync();
		}
	});
