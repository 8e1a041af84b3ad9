import { describe, expect, it } from 'vitest';
import type { SheetRow } from '../../../calc/sheet/column.ts';
import { CONTRACT_VERSION } from '../../../electron/contract/verbs.ts';
import { DeskStore } from '../../../renderer/desk/store.ts';
import { SheetDesk, type SheetDeskOptions } from './sheetdesk.ts';

const settle = () => new Promise((go) => setTimeout(go, 0));

async function standing(options: Partial<SheetDeskOptions> = {}) {
	const desk = new SheetDesk({ rings: 4, readingsPerRing: 3, ...options });
	const store = new DeskStore(desk, (run) => run());
	await store.readAnew();
	await settle();
	return { desk, store };
}

const edit = (store: DeskStore, row: number, text: string) =>
	store.call('sheet.edit', {
		sheet: 'readings',
		edits: [{ row, column: 'return_flow_m3_h', text }],
		typed: { decimal: '.' },
	});

describe('the page’s picture of the desk', () => {
	it('reads ledger, rings and drive when a document is open, and other sheets when needed', async () => {
		const { store } = await standing();
		expect(store.view().sheets.ledger).toMatchObject({ status: 'ready', held: 4, total: 4 });
		expect(store.view().sheets.readings.status).toBe('idle');
		store.need('readings');
		expect(store.view().sheets.readings.status).toBe('loading');
		await settle();
		expect(store.rowsOf('readings').size).toBe(12);
	});

	it('takes an edit in once, though it comes both as answer and as event', async () => {
		const { store } = await standing();
		store.need('readings');
		await settle();
		const heard: number[] = [];
		store.onRows('ledger', (change) => heard.push(change.updated.length));
		await edit(store, 1, '1500');
		expect(store.rowsOf('readings').get(1)?.cells.return_flow_m3_h).toBe(1500);
		await settle();
		expect(heard).toEqual([1]);
		expect(store.view().lastLabel).toBe('edit of return_flow_m3_h');
		expect(store.view().state?.document?.undo).toBe('edit of return_flow_m3_h');
	});

	it('changes nothing when the desk refuses', async () => {
		const { store } = await standing();
		store.need('readings');
		await settle();
		const before = store.view().seq;
		const reply = await edit(store, 1, 'abc');
		expect(reply.ok && reply.value.refused).toHaveLength(1);
		expect(store.rowsOf('readings').get(1)?.cells.return_flow_m3_h).toBe(1131);
		expect(store.view().seq).toBe(before);
	});

	it('takes back a step', async () => {
		const { store } = await standing();
		store.need('readings');
		await settle();
		const ledger = store.rowsOf('ledger').get(1);
		await edit(store, 1, '1500');
		expect(store.rowsOf('ledger').get(1)).not.toEqual(ledger);
		await store.call('history.undo', {});
		expect(store.rowsOf('ledger').get(1)).toEqual(ledger);
	});

	it('hears what another page changed', async () => {
		const { desk, store } = await standing();
		desk.change('rings', { id: 2, cells: { ring: 2, stroke_end_mm: 1790 } });
		await settle();
		expect(store.rowsOf('rings').get(2)?.cells.stroke_end_mm).toBe(1790);
	});

	it('reads everything anew when a change was missed', async () => {
		const { desk, store } = await standing();
		desk.change('rings', { id: 1, cells: { ring: 1, stroke_end_mm: 1 } });
		await settle();
		// A change whose event never reaches this page.
		const missed: SheetRow = { id: 3, cells: { ring: 3, stroke_end_mm: 3 } };
		const push = desk.push.bind(desk);
		desk.push = () => {};
		desk.change('rings', missed);
		await settle();
		desk.push = push;
		expect(store.rowsOf('rings').get(3)).not.toEqual(missed);
		desk.change('rings', { id: 2, cells: { ring: 2, stroke_end_mm: 2 } });
		await settle();
		await settle();
		expect(store.rowsOf('rings').get(3)).toEqual(missed);
	});

	it('lets no late answer overwrite a change that came meanwhile', async () => {
		const { desk, store } = await standing({ held: ['sheet.rows'] });
		// Rows were read for the answer, then the change came, then the answer arrives.
		const newer: SheetRow = { id: 2, cells: { ring: 2, stroke_end_mm: 1777 } };
		desk.change('rings', newer);
		await settle();
		desk.release();
		await settle();
		expect(store.view().sheets.rings.status).toBe('ready');
		expect(store.rowsOf('rings').get(2)).toEqual(newer);
	});

	it('reads the state and the sheets again after the connection was lost', async () => {
		const { desk, store } = await standing();
		desk.connect('lost');
		expect(store.view().connection).toBe('lost');
		desk.sheets.rings.set(1, { id: 1, cells: { ring: 1, stroke_end_mm: 1666 } });
		expect((await edit(store, 1, '5')).ok).toBe(false);
		desk.connect('open');
		await settle();
		await settle();
		expect(store.view().connection).toBe('open');
		expect(store.rowsOf('rings').get(1)?.cells.stroke_end_mm).toBe(1666);
	});

	it('refuses to work with a desk of another version', async () => {
		const { store } = await standing({ contract: CONTRACT_VERSION + 1 });
		expect(store.view().trouble?.code).toBe('contract_differs');
		expect(store.view().state).toBeNull();
	});

	it('forgets rows, selection and label when the document is closed', async () => {
		const { store } = await standing();
		store.select({ sheet: 'rings', row: 2, column: 'ring', ring: 2 });
		await store.call('project.close', {});
		expect(store.view().state?.document).toBeNull();
		expect(store.rowsOf('ledger').size).toBe(0);
		expect(store.view().selection).toEqual({
			sheet: 'ledger',
			row: null,
			column: null,
			ring: null,
		});
	});

	it('holds only the chosen rings’ readings, and says of how many', async () => {
		const { store } = await standing();
		await store.read('readings', { fromRing: 2, toRing: 3 });
		expect(store.view().sheets.readings).toMatchObject({
			held: 6,
			total: 12,
			span: { fromRing: 2, toRing: 3 },
		});
	});
});
