import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { scratchFolder } from '../store/smalldrive.ts';
import { FIRST_START_S, iso, RING_S, startOf, TestDesk, writeInventedFolder } from './invented.ts';

const folder = scratchFolder();

/** A record that keeps its valves and no modes: one row every ten seconds, bypass open while no ring is cut. */
function valvesOnly(from_s: number, to_s: number): string {
	const lines = [
		'time,Bypass valve [%],Chamber valve [%],Feed flow [m³/h],Feed density [t/m³],Return flow [m³/h],Return density [t/m³]',
	];
	for (let t = from_s, n = 0; t < to_s; t += 10, n++) {
		const inRing = (((t - FIRST_START_S) % RING_S) + RING_S) % RING_S;
		const advancing = t >= FIRST_START_S && inRing < 2_700;
		lines.push(
			[
				iso(t),
				advancing ? 0 : 100,
				advancing ? 100 : 0,
				1000 + (n % 9),
				1.08,
				(advancing ? 1155 : 1000) + (n % 4),
				advancing ? 1.19 : 1.085,
			].join(','),
		);
	}
	return `${lines.join('\n')}\n`;
}

it('the timeline names the rule that told each mode, and a mode set by hand goes before it', async () => {
	writeInventedFolder(join(folder, 'demo'), { rings: 3 });
	const from_s = FIRST_START_S - 3_600;
	const middle_s = startOf(2) + 1_200;
	writeFileSync(join(folder, 'first.csv'), valvesOnly(from_s, middle_s));
	writeFileSync(join(folder, 'second.csv'), valvesOnly(middle_s, startOf(3) + RING_S));
	const desk = new TestDesk(folder);
	await desk.create('demo', 'valves');
	for (const file of ['first.csv', 'second.csv']) {
		const places = [await desk.placeOf(file)];
		const look = await desk.must('logger.inspect', { files: places });
		expect(look.layout.modeRules.length).toBeGreaterThan(1);
		const made = await desk.must('logger.import', {
			files: places,
			layout: look.layout,
			conflicts: 'refuse',
		});
		expect(made.outcome).toBe('done');
	}
	const modesOf = async (ring: number) =>
		(await desk.must('ring.timeline', { ring, points: 2_000 })).modes;
	for (const ring of [1, 2, 3]) {
		const known = (await modesOf(ring)).filter((one) => one.mode !== null);
		expect(new Set(known.map((one) => one.mode))).toEqual(new Set(['advance', 'bypass']));
		for (const one of known) {
			expect(one.decidedBy).toBe('rule');
			const opened = one.mode === 'advance' ? 'chamber valve' : 'bypass valve';
			expect(one.why).toContain(`${one.mode} when ${opened} above 50 %`);
		}
	}
	const set = { from_time: iso(startOf(2) + 600), to_time: iso(startOf(2) + 900) };
	await desk.must('sheet.add', {
		sheet: 'mode_overrides',
		rows: [{ ...set, mode: 'stop', why: 'shift log' }],
		typed: { decimal: '.' },
	});
	const modes = await modesOf(2);
	expect(modes.find((one) => one.decidedBy === 'override')).toMatchObject({
		from_s: startOf(2) + 600,
		to_s: startOf(2) + 900,
		mode: 'stop',
		why: 'shift log',
	});
	expect(
		modes.filter((one) => one.mode === 'advance').every((one) => one.decidedBy === 'rule'),
	).toBe(true);
	// Kept in the document: the same when it is opened again.
	await desk.must('project.close', {});
	await desk.open('valves.slurrybook');
	expect(await modesOf(2)).toEqual(modes);
	desk.handle.close();
});
