import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { expect, test } from 'vitest';
import { integralSql } from '../../bench/integralsql.ts';
import { ringWindows, writeLoggerFolder } from '../../bench/loggerfile.ts';
import { INTEGRALS, RingIntegrals } from '../../bench/ringintegrals.ts';
import { integral, productIntegral } from '../../calc/circuit/integrate.ts';
import { FaultList } from '../../electron/folder/faultlist.ts';
import { readRecord } from '../../electron/logger/readrecord.ts';
import { emptyFolder, HEAD, iso, parse } from '../electron/logger/madelogger.ts';

// Reference: DuckDB SQL reading and integrating the same file, a general-purpose library that shares
// no line with ours. The trapezoid of Q and the exact integral of linear × linear are written in SQL
// in a form of their own.

async function inSql(logger: string, rings: string, order: 'file' | 'stamps'): Promise<number[]> {
	const connection = await (await DuckDBInstance.create(':memory:')).connect();
	try {
		const reader = await connection.runAndReadAll(integralSql(logger, rings, order));
		return reader.getRows().flatMap((row) => row.slice(1).map(Number));
	} finally {
		connection.closeSync();
	}
}

const close = (ours: readonly number[], theirs: readonly number[]): void => {
	expect(theirs).toHaveLength(ours.length);
	ours.forEach((value, at) => {
		expect(Math.abs(value - (theirs[at] ?? Number.NaN))).toBeLessThanOrEqual(
			1e-9 * Math.abs(value),
		);
	});
};

test('per-ring integrals of a 1 Hz record agree with DuckDB to 1e-9', async () => {
	const folder = await emptyFolder();
	const { logger, rings } = writeLoggerFolder(folder, 1, 17);
	const integrals = new RingIntegrals(ringWindows(rings));
	const faults = new FaultList();
	await readRecord([logger], { faults, take: (batch) => integrals.push(batch) });
	expect(faults.listed).toEqual([]);
	expect(integrals.sums[0]).toBeGreaterThan(700);
	const ours = [...integrals.sums];
	close(ours, await inSql(logger, join(folder, 'rings.csv'), 'file'));
	close(ours, await inSql(logger, join(folder, 'rings.csv'), 'stamps'));
});

test('the integral functions agree with DuckDB on irregular stamps', async () => {
	const folder = await emptyFolder();
	const logger = join(folder, 'logger.csv');
	const rings = join(folder, 'rings.csv');
	let t = Date.UTC(2026, 4, 1) / 1000;
	const first = t;
	const lines = Array.from({ length: 900 }, (_, i) => {
		t += 1 + ((i * i) % 7) + (i % 5 === 0 ? 0.25 : 0);
		return `${iso(t)},advance,${(800 + ((i * 37) % 211)).toFixed(1)},${(1.05 + ((i * 13) % 97) / 1000).toFixed(4)},${(850 + ((i * 53) % 199)).toFixed(1)},${(1.15 + ((i * 29) % 89) / 1000).toFixed(4)},4,2.5`;
	});
	const text = `${HEAD},chamber_level_m,face_pressure_bar\n${lines.join('\n')}\n`;
	writeFileSync(logger, text);
	writeFileSync(rings, `ring,advance_start,advance_end\n1,${iso(first)},${iso(t)}\n`);
	const { time_s, numbers } = parse(text);
	const column = (id: string, factor: number): number[] =>
		(numbers[id] ?? []).map((value) => value * factor);
	const [qf, qr] = [column('feed_flow_m3_h', 1 / 3600), column('return_flow_m3_h', 1 / 3600)];
	const [rf, rr] = [column('feed_density_t_m3', 1), column('return_density_t_m3', 1)];
	const ours = [
		integral(time_s, qf),
		integral(time_s, qr),
		productIntegral(time_s, qf, rf),
		productIntegral(time_s, qr, rr),
	];
	expect(ours).toHaveLength(INTEGRALS);
	close(ours, await inSql(logger, rings, 'stamps'));
});
