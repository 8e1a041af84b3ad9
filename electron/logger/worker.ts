import { basename } from 'node:path';
import { type MessagePort, parentPort } from 'node:worker_threads';
import { LOGGER_GAP_FLOOR_S } from '../../calc/circuit/gap.ts';
import type { Fault } from '../../calc/fault/fault.ts';
import { FaultList } from '../folder/faultlist.ts';
import { buffersOf, type LoggerBatch } from './batch.ts';
import { FileHash, type HashedFile } from './filehash.ts';
import type { SeriesSource } from './manifest.ts';
import type { BatchPlace, FromSeries, ToMain, ToSeries, WorkerTask } from './messages.ts';
import { PlaceTold } from './placetold.ts';
import { FilesChanged, readRecord } from './readrecord.ts';
import { RecordOrder } from './recordorder.ts';
import { RingWindow } from './ringwindow.ts';
import { SeriesWriter } from './serieswriter.ts';
import { noteUnfinished, unfinishedFolder } from './unfinished.ts';

// The two threads of an import: one reads, the other balances rings and writes the series. The files
// are hashed by the one that reads, which has the time, or, where notes are made, by the one that makes them.

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
	const { goOn } = task;
	const record = new RingWindow(null, goOn?.gapLimit_s ?? null);
	const send = task.series === null ? null : sender(task.series);
	let firstTime_s: number | null = goOn?.firstTime_s ?? null;
	const place = new PlaceTold(goOn?.place ?? null);
	let told = 0;
	let done: LoggerBatch | undefined;
	const hashes = task.hashing ? task.files.map((path) => new FileHash(path)) : null;
	const order = new RecordOrder();
	const sizes = await readRecord(task.files, {
		faults,
		layout: task.layout,
		overlapping: task.overlapping,
		goOn: goOn?.place ?? null,
		begins: (before) => place.begins(before, faults.soFar()),
		take(batch, file, upTo, at) {
			const known = { place: at, firstTime_s, gapLimit_s: record.gapLimit_s };
			firstTime_s = Math.min(firstTime_s ?? Number.POSITIVE_INFINITY, batch.time_s[0]!);
			if (order.follows(batch)) record.push(batch);
			if (send === null) done = batch;
			else send.batch(batch, file, upTo, place.of(batch, known));
			// The bytes just read are still in the system's memory: hashing them now costs no second pass.
			hashes?.[file]?.advance(upTo);
			place.passed(faults.soFar());
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
		const hashed = hashes?.map((hash) => hash.finish()) ?? null;
		send?.end(sizes.rowsByFile, record.gapLimit_s ?? LOGGER_GAP_FLOOR_S, keep, hashed);
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
		batch(batch: LoggerBatch, file: number, upTo: number, at: BatchPlace): void {
			underWay++;
			const message: ToSeries = { what: 'batch', file, upTo, batch, at };
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
		end(
			rowsByFile: readonly number[],
			gapLimit_s: number,
			keep: boolean,
			hashed: readonly (HashedFile | null)[] | null,
		): void {
			const message: ToSeries = { what: 'end', rowsByFile, gapLimit_s, keep, hashed };
			port.postMessage(message);
		},
	};
}

function writeSeries(task: WorkerTask & { role: 'series' }): void {
	const { goOn } = task;
	const hashes = task.files.map((path) => new FileHash(path));
	if (goOn !== null) holdAgainst(goOn.read, hashes, task.files);
	let latest: Extract<ToSeries, { what: 'batch' }> | null = null;
	let before = goOn?.place.before ?? null;
	const faults: Fault[] = goOn?.place.faults.listed.slice() ?? [];
	let noted_ms = performance.now();
	const note = (): void => {
		const { noting } = task;
		if (noting === null || latest === null || before === null) return;
		const { file, upTo, at } = latest;
		const { gapLimit_s, firstTime_s, place, from_s } = at;
		if (gapLimit_s === null || firstTime_s === null) return;
		if (performance.now() - noted_ms < noting.every_ms) return;
		noted_ms = performance.now();
		hashes[file]?.advance(upTo);
		const { every_ms: _every, ...rest } = noting;
		const content = {
			...rest,
			gapLimit_s,
			firstTime_s,
			read: hashes.map((hash) => hash.soFar()),
			place: { file, before, place, from_s, faults: { ...at.faults, listed: faults.slice() } },
			writer: writer.state,
		};
		try {
			noteUnfinished(unfinishedFolder(task.seriesFolder), content);
		} catch {
			// A disk that takes no note takes no series either, and says so itself.
		}
	};
	const writer = new SeriesWriter(
		task.seriesFolder,
		task.base,
		task.onConflict,
		goOn?.writer ?? null,
		note,
	);
	let file = goOn?.place.file ?? 0;
	const rings = new RingWindow(task.inputs);
	const order = new RecordOrder();
	task.batches.on('message', async (message: ToSeries) => {
		if (message.what === 'batch') {
			if (message.file !== file) writer.endFile();
			file = message.file;
			latest = message;
			before = message.at.before ?? before;
			faults.push(...message.at.faults.listed);
			writer.append(message.batch);
			if (task.inputs !== null && order.follows(message.batch)) rings.push(message.batch);
			if (task.noting !== null) hashes[message.file]?.advance(message.upTo);
			const taken: FromSeries = { what: 'taken', batch: message.batch };
			task.batches.postMessage(taken, buffersOf(message.batch));
			return;
		}
		task.batches.close();
		const hashed = message.hashed ?? hashes.map((hash) => hash.finish());
		const sources = hashed.flatMap((read, at): SeriesSource[] => {
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

/** Throws {@link FilesChanged} unless the parts that were read before are what they were. */
function holdAgainst(
	read: readonly { readonly bytes: number; readonly sha256: string }[],
	hashes: readonly FileHash[],
	files: readonly string[],
): void {
	for (const [at, part] of read.entries()) {
		if (part.bytes === 0) continue;
		const name = basename(files[at] ?? '');
		try {
			hashes[at]?.advance(part.bytes);
		} catch {
			throw new FilesChanged(`${name} cannot be read`);
		}
		const now = hashes[at]?.soFar();
		if (now?.bytes !== part.bytes || now.sha256 !== part.sha256)
			throw new FilesChanged(`${name} is not what it was`);
	}
}
