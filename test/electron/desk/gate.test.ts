import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import fc from 'fast-check';
import { beforeAll, describe, expect, it } from 'vitest';
import { VERBS, type VerbName } from '../../../electron/contract/verbs.ts';
import { admit } from '../../../electron/desk/gate.ts';
import { scratchFolder } from '../store/smalldrive.ts';
import { TestDesk, writeInventedFolder } from './invented.ts';

const folder = scratchFolder();
const desk = new TestDesk(folder);
const NAMES = Object.keys(VERBS) as VerbName[];

beforeAll(async () => {
	writeInventedFolder(join(folder, 'demo'), { rings: 3 });
	await desk.create('demo', 'fuzzed');
});

describe('what the gate refuses', () => {
	it('knows only the verbs of the contract, and not what objects inherit', async () => {
		for (const verb of [
			'nonsense',
			'toString',
			'constructor',
			'__proto__',
			'hasOwnProperty',
			'',
			1,
			null,
			undefined,
			['desk.state'],
			{ toString: () => 'desk.state' },
			'x'.repeat(1_000_000),
		]) {
			const reply = await desk.handle.handle(verb, {});
			expect(reply).toMatchObject({ ok: false, code: 'unknown_verb' });
		}
	});

	it('refuses messages that are too large, too deep or hostile to look at, without a throw', () => {
		let deep: unknown = 1;
		for (let n = 0; n < 100_000; n++) deep = [deep];
		expect(admit('desk.state', deep)).toMatchObject({ ok: false, code: 'too_large' });
		expect(admit('desk.state', { a: 'x'.repeat(20_000_000) })).toMatchObject({
			ok: false,
			code: 'too_large',
		});
		expect(admit('desk.state', new Array(700_000).fill(0))).toMatchObject({
			ok: false,
			code: 'too_large',
		});
		const trap = {
			get sheet(): string {
				throw new Error('boo');
			},
		};
		expect(admit('sheet.rows', trap)).toMatchObject({ ok: false, code: 'bad_ask' });
		const circle: Record<string, unknown> = {};
		circle.self = circle;
		expect(admit('desk.state', circle)).toMatchObject({ ok: false, code: 'too_large' });
		const revoked = Proxy.revocable({}, {});
		revoked.revoke();
		expect(admit('sheet.rows', revoked.proxy)).toMatchObject({ ok: false, code: 'bad_ask' });
	});

	it('names the place that is wrong', () => {
		expect(
			admit('sheet.edit', {
				sheet: 'readings',
				edits: [{ row: -1, column: 'ph', text: '7' }],
				typed: { decimal: '.' },
			}),
		).toMatchObject({
			ok: false,
			code: 'bad_ask',
			message: expect.stringContaining('edits.0.row'),
		});
	});

	it('takes no path for a place', async () => {
		for (const placeId of [folder, '/etc', '../..', 'C:\\', 'a'.repeat(64)])
			expect(await desk.handle.handle('places.list', { placeId })).toMatchObject({
				ok: false,
				code: 'unknown_place',
			});
	});
});

it('answers thousands of random messages, and the document is as sound after them as before', async () => {
	const before = await desk.must('project.check', {});
	expect(before.findings.filter((fault) => fault.weight === 'stop')).toEqual([]);
	const safe = NAMES.filter(
		// These end the document or write files for every message that happens to be right.
		(name) => !['project.close', 'project.openDemo', 'person.set'].includes(name),
	);
	const part = fc.oneof(
		fc.anything({ maxDepth: 2, withNullPrototype: true, withTypedArray: true }),
		fc.constantFrom<unknown>(
			'readings',
			'rings',
			'ledger',
			'drive',
			'time',
			'ph',
			'ring',
			'.',
			1,
			2,
			40,
			7e9,
		),
		fc.record({ decimal: fc.constantFrom('.', ',') }),
		fc.array(
			fc.record({
				row: fc.oneof(fc.integer({ min: 1, max: 80 }), fc.anything({ maxDepth: 0 })),
				column: fc.constantFrom('ph', 'note', 'time', 'mode', '__proto__', 'constructor', 'ring'),
				text: fc.oneof(
					fc.string({ unit: 'binary' }),
					fc.constantFrom('7.5', '1,180', '', 'advance'),
				),
			}),
			{ maxLength: 3 },
		),
	);
	const keys = [
		'sheet',
		'row',
		'rows',
		'edits',
		'typed',
		'column',
		'ring',
		'points',
		'placeId',
		'why',
		'label',
		'__proto__',
		'fromRing',
		'toRing',
	];
	const ask = fc.oneof(
		fc.anything({ maxDepth: 3 }),
		fc.dictionary(fc.constantFrom(...keys), part, { maxKeys: 6 }),
		fc.record({
			sheet: fc.constantFrom('readings', 'rings', 'ground', 'meters', 'drive'),
			edits: part,
			rows: part,
			typed: fc.constant({ decimal: '.' }),
		}),
	);
	let refused = 0;
	let answered = 0;
	await fc.assert(
		fc.asyncProperty(fc.oneof(fc.constantFrom(...safe), fc.anything()), ask, async (verb, what) => {
			const reply = await desk.handle.handle(verb, what);
			if (reply.ok) answered++;
			else {
				refused++;
				expect(reply.code).toMatch(/^[a-z_]+$/);
				expect(reply.code).not.toBe('desk_failed');
				expect(reply.message.length).toBeGreaterThan(5);
			}
		}),
		{ numRuns: 4_000, seed: 20_260_301 },
	);
	expect(refused).toBeGreaterThan(1_000);
	expect(answered).toBeGreaterThan(100);
	expect(Object.hasOwn(Object.prototype, 'sheet')).toBe(false);
	const after = await desk.must('project.check', {});
	expect(after.findings.filter((fault) => fault.weight === 'stop')).toEqual([]);
});

it('answers every verb of the contract in its shape', async () => {
	const root = (await desk.must('places.list', {})).placeId;
	const demo = await desk.placeOf('demo');
	const readings = await desk.must('sheet.rows', { sheet: 'readings' });
	const row = readings.rows[5]!.id;
	const typed = { decimal: '.' } as const;
	writeFileSync(
		join(folder, 'export.csv'),
		'Time;Feed flow [m3/h]\n2026-03-01T07:00:00Z;900\n2026-03-01T07:00:10Z;901\n',
	);
	const loggerFile = await desk.placeOf('export.csv');
	const look = await desk.must('logger.inspect', { files: [loggerFile] });
	writeFileSync(
		join(folder, 'certificates.csv'),
		'Meter;Valid from;Slope;Offset\nfeed_flow;2026-01-02T00:00Z;1;0\n',
	);
	const sheetFile = await desk.placeOf('certificates.csv');
	const reading = { existing: 'skip' } as const;
	const inspected = await desk.must('exchange.inspect', {
		sheet: 'meters',
		fileId: sheetFile,
		reading,
	});
	const asks: { [V in VerbName]: () => unknown } = {
		'desk.state': () => ({}),
		'person.set': () => ({ person: 'Second tester' }),
		'recent.list': () => ({}),
		'places.list': () => ({}),
		'places.choose': () => ({ purpose: 'open-project' }),
		'places.chooseFiles': () => ({}),
		'project.inspectFolder': () => ({ folderId: demo }),
		'project.create': () => ({ folderId: demo, intoId: root, name: 'walk', take: 'goodRows' }),
		'sheet.rows': () => ({ sheet: 'ledger' }),
		'sheet.edit': () => ({ sheet: 'readings', edits: [{ row, column: 'ph', text: '8.1' }], typed }),
		'sheet.add': () => ({
			sheet: 'meters',
			rows: [{ meter: 'return_flow', valid_from: '2026-01-01T00:00Z', slope: '1', offset: '0' }],
			typed,
		}),
		'history.undo': () => ({}),
		'history.redo': () => ({}),
		'sheet.delete': () => ({ sheet: 'readings', rows: [row] }),
		'ring.detail': () => ({ ring: 2 }),
		'ring.timeline': () => ({ ring: 2, points: 100 }),
		'meters.checks': () => ({}),
		'logger.inspect': () => ({ files: [loggerFile] }),
		'logger.import': () => ({ files: [loggerFile], layout: look.layout, conflicts: 'refuse' }),
		'logger.unfinished': () => ({}),
		'logger.goOn': () => ({}),
		'logger.discard': () => ({}),
		'logger.cancel': () => ({}),
		'logger.profiles': () => ({}),
		'logger.sources': () => ({}),
		'sheet.export': () => ({ sheet: 'ledger', form: 'xlsx', intoId: root, name: 'walk ledger' }),
		'exchange.inspect': () => ({ sheet: 'meters', fileId: sheetFile, reading }),
		'exchange.take': () => ({
			sheet: 'meters',
			fileId: sheetFile,
			reading: inspected.reading,
			sha256: inspected.sha256,
			take: 'all',
		}),
		'formula.check': () => ({
			sheet: 'ledger',
			expression: 'mean(volume_apparent_m3, 3)',
			unit: 'm3',
		}),
		'formula.suggest': () => ({ sheet: 'ledger', expression: 'vol', caret: 3 }),
		'cell.working': () => ({ sheet: 'ledger', row: 1, column: 'dry_solids_t' }),
		'project.check': () => ({}),
		'project.saveCopy': () => ({ intoId: root, name: 'walk copy' }),
		'project.exportFolder': () => ({ intoId: root, name: 'walk folder' }),
		'project.createEmpty': () => ({
			intoId: root,
			name: 'empty',
			title: 'Begun by hand',
			excavated_diameter_m: 9,
			nominal_advance_m: 1.5,
		}),
		'project.open': () => ({}),
		'project.openDemo': () => ({}),
		'project.close': () => ({}),
	};
	expect(Object.keys(asks).sort()).toEqual([...NAMES].sort());
	for (const verb of Object.keys(asks) as VerbName[]) {
		const ask =
			verb === 'project.open' ? { placeId: await desk.placeOf('walk.slurrybook') } : asks[verb]();
		const reply = await desk.call(verb, ask as never);
		if (verb.startsWith('places.choose'))
			expect(reply).toMatchObject({ ok: false, code: 'no_dialog' });
		else if (verb === 'logger.goOn')
			expect(reply).toMatchObject({ ok: false, code: 'nothing_unfinished' });
		else expect(reply, verb).toMatchObject({ ok: true });
	}
	for (const verb of NAMES.filter(
		(name) => VERBS[name].mutates || /^(ring|cell|sheet)\./.test(name),
	))
		expect(await desk.call(verb, asks[verb]() as never), verb).toMatchObject({
			ok: false,
			code: 'no_document',
		});
	desk.handle.close();
	expect(await desk.handle.handle('project.close', {})).toMatchObject({
		ok: false,
		code: 'desk_closed',
	});
});
