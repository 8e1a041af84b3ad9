import { type MessagePort, parentPort } from 'node:worker_threads';
import { LOGGER_GAP_FLOOR_S } from '../../calc/circuit/gap.ts';
import { FaultList } from '../folder/faultlist.ts';
import { buffersOf, type LoggerBatch } from './batch.ts';
import { FileHash } from './filehash.ts';
import type { SeriesSource } from './manifest.ts';
import type { FromSeries, ToMain, ToSeries, WorkerTask } from './messages.ts';
import { readRecord } from './readrecord.ts';
import { RecordOrder } from './recordorder.ts';
import { RingWindow } from './ringwindow.ts';
import { SeriesWriter } from './serieswriter.ts';

// The two threads of an import: one reads, the other balances rings, hashes the files and
// writes the series.

/** Batches on their way between the threads at most; bounds the memory of an import. */
const BATCHES_UNDER_WAY = 8;
/** Progress is told once in so many bytes. */
const TELL_EVERY_BYTES = 1 << 20;

const main = parentPort;
if (main === null) throw new Error('an import thread is started by importLogger');
const tell = (message: ToMain): void => main.postMessage(message);
const task = await new Promise<WorkerTask>((resolve) => main.once('message', resolve));
if (task.role === 'read') await readFiles(task);
else writeSeries(task);

async function readFiles(task: WorkerTask & { role: 'read' }): Promise<void> {
	const faults = new FaultList();
	const record = new RingWindow(null);
	const send = task.series === null ? null : sender(task.series);
	let firstTime_s: number | null = null;
	let told = 0;
	let done: LoggerBatch | undefined;
	const order = new RecordOrder();
	const sizes = await readRecord(task.files, {
		faults,
		layout: task.layout,
		overlapping: task.overlapping,
		take(batch, file, upTo) {
			firstTime_s = Math.min(firstTime_s ?? Number.POSITIVE_INFINITY, batch.time_s[0]!);
			if (order.follows(batch)) record.push(batch);
			if (send === null) done = batch;
			else send.batch(batch, file, upTo);
		},
		spare: () => (send === null ? done : send.spare()),
		between(rows, bytes) {
			if (bytes - told >= TELL_EVERY_BYTES) {
				told = bytes;
				tell({ what: 'progress', rows, bytes });
			}
			return send?.room();
		},
	});
	record.end();
	const rows = sizes.rowsByFile.reduce((sum, n) => sum + n, 0);
	tell({ what: 'progress', rows, bytes: sizes.bytesByFile.reduce((sum, n) => sum + n, 0) });
	tell({
		what: 'read',
		...sizes,
		firstTime_s,
		gapLimit_s: record.gapLimit_s,
		faults: faults.listed,
		moreFaults: faults.more,
		stops: faults.stops,
	});
	main?.on('message', (keep: boolean) => {
		send?.end(sizes.rowsByFile, record.gapLimit_s ?? LOGGER_GAP_FLOOR_S, keep);
		task.series?.close();
		main?.removeAllListeners('message');
	});
}

/** Hands batches to the series thread and waits when too many are under way. */
function sender(port: MessagePort) {
	let underWay = 0;
	let wake: (() => void) | null = null;
	const spare: LoggerBatch[] = [];
	port.on('message', ({ batch }: FromSeries) => {
		underWay--;
		if (spare.length < BATCHES_UNDER_WAY) spare.push(batch);
		wake?.();
	});
	return {
		batch(batch: LoggerBatch, file: number, upTo: number): void {
			underWay++;
			const message: ToSeries = { what: 'batch', file, upTo, batch };
			port.postMessage(message, buffersOf(batch));
		},
		spare: () => spare.pop(),
		room(): Promise<void> | undefined {
			if (underWay < BATCHES_UNDER_WAY) return undefined;
			const { promise, resolve } = Promise.withResolvers<void>();
			wake = () => {
				if (underWay > BATCHES_UNDER_WAY / 2) return;
				wake = null;
				resolve();
			};
			return promise;
		},
		end(rowsByFile: readonly number[], gapLimit_s: number, keep: boolean): void {
			const message: ToSeries = { what: 'end', rowsByFile, gapLimit_s, keep };
			port.postMessage(message);
		},
	};
}

function writeSeries(task: WorkerTask & { role: 'series' }): void {
	const writer = new SeriesWriter(task.seriesFolder, task.base, task.onConflict);
	let file = 0;
	const hashes = task.files.map((path) => new FileHash(path));
	const rings = new RingWindow(task.inputs);
	const order = new RecordOrder();
	task.batches.on('message', async (message: ToSeries) => {
		if (message.what === 'batch') {
			if (message.file !== file) writer.endFile();
			file = message.file;
			writer.append(message.batch);
			if (task.inputs !== null && order.follows(message.batch)) rings.push(message.batch);
			// The bytes just read are still in the system's memory: hashing them now costs no second pass.
			hashes[message.file]?.advance(message.upTo);
			const taken: FromSeries = { what: 'taken', batch: message.batch };
			task.batches.postMessage(taken, buffersOf(message.batch));
			return;
		}
		task.batches.close();
		const sources = hashes.flatMap((hash, at): SeriesSource[] => {
			const read = hash.finish();
			return read === null ? [] : [{ ...read, rows: message.rowsByFile[at] ?? 0 }];
		});
		writer.endFile();
		rings.end();
		const { growth } = writer;
		const there = task.base?.sources ?? [];
		const isKept =
			message.keep &&
			growth.changed !== null &&
			(growth.conflicts === 0 || task.onConflict !== 'refuse');
		if (isKept)
			await writer.finish({
				gapLimit_s: Math.max(message.gapLimit_s, task.base?.gapLimit_s ?? 0),
				sources: [
					...there,
					...sources.filter(({ sha256 }) => !there.some((source) => source.sha256 === sha256)),
				],
			});
		const balances = order.isOne ? rings.balances : [];
		tell({ what: 'series', sources, kept: isKept, growth, balances });
	});
}
