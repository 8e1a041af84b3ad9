import type { RingBalance } from '../../calc/circuit/ringbalance.ts';
import type { Fault } from '../../calc/fault/fault.ts';
import type { Reply } from '../contract/verbs.ts';
import type { FolderContent } from '../folder/content.ts';
import { importLogger, type LoggerImport } from '../logger/import.ts';
import type { ReadyThreads } from '../logger/readythreads.ts';
import { refuse } from '../store/header.ts';
import type { SourceFile, StoredBalance } from '../store/projectfile.ts';
import type { StoredRow } from '../store/rows.ts';
import { balanceInputHash } from './balanceinput.ts';
import { encodeBalance } from './balancetext.ts';
import { DriveModel } from './drivemodel.ts';
import { firstFault } from './firstfault.ts';
import type { Progress } from './loggerseries.ts';

export interface LoggerTaken {
	readonly sources: readonly SourceFile[];
	readonly balances: readonly StoredBalance[];
	readonly faults: readonly Fault[];
	readonly moreFaults: number;
}

/**
 * Streams a folder's logger files into the series of a project in the making and balances the rings
 * they reach over. What bypass and signal faults it holds is looked for at the first opening. Refused, with the faults, when all rows are asked for and some cannot be taken.
 */
export async function takeLogger(
	content: FolderContent,
	seriesFolder: string,
	take: 'all' | 'goodRows',
	onProgress: Progress,
	threads?: ReadyThreads,
): Promise<Reply<LoggerTaken> & Pick<LoggerTaken, 'faults' | 'moreFaults'>> {
	const nothing = { faults: [], moreFaults: 0 };
	if (content.loggerFiles.length === 0)
		return { ok: true, value: { sources: [], balances: [], ...nothing }, ...nothing };
	const model = modelOf(content);
	const read = await importLogger({
		files: content.loggerFiles,
		seriesFolder,
		inputs: {
			rings: model.rings.map((ring) => ring.input),
			settings: model.settings,
			ground: model.ground,
			meters: model.meters,
			referenceLevel_m: model.referenceLevel_m,
		},
		take,
		threads,
		onProgress: ({ rows }) => onProgress('reading the logger', rows, null),
	});
	const { faults, moreFaults } = read;
	if (!read.kept && read.stops > 0 && take === 'all')
		return {
			...refuse(
				'folder_has_faults',
				`The logger files have faults, nothing was taken. ${firstFault(faults, moreFaults)}`,
			),
			faults,
			moreFaults,
		};
	return {
		ok: true,
		value: {
			...takenOf(read, model),
			faults,
			moreFaults,
		},
		faults,
		moreFaults,
	};
}

function takenOf(read: LoggerImport, model: DriveModel): Pick<LoggerTaken, 'sources' | 'balances'> {
	if (!read.kept) return { sources: [], balances: [] };
	const rings = new Map(model.rings.map((ring) => [ring.input.ring, ring]));
	return {
		sources: read.sources.map((source) => ({ ...source, firstTime_s: null, lastTime_s: null })),
		balances: read.balances.flatMap((balance) => {
			const ring = rings.get(balance.ring);
			if (ring === undefined) return [];
			return {
				ring: balance.ring,
				inputHash: balanceInputHash(asBalanced(model, balance), ring, ''),
				balance: encodeBalance(balance),
			};
		}),
	};
}

/**
 * The inputs a balance was made with while the logger was read: without set modes and correction. Where
 * one concerns the ring its hash is not that of the document, and it is balanced once more there.
 */
function asBalanced(model: DriveModel, { looksFrom_s, looksTo_s }: RingBalance) {
	const { settings, ground, meters, referenceLevel_m, overrides } = model;
	const reached = overrides.some((one) => one.from_s <= looksTo_s && one.to_s >= looksFrom_s);
	return { settings, ground, meters, referenceLevel_m, overrides: reached ? [] : overrides };
}

/** The rows as they will be numbered in the document, so that what is balanced now is what is found there later. */
function modelOf(content: FolderContent): DriveModel {
	const numbered = (rows: FolderContent['rings']): StoredRow[] =>
		rows.map((cells, at) => ({ id: at + 1, cells }));
	return new DriveModel((sheet) => {
		if (sheet === 'drive') return numbered([content.drive]);
		return sheet === 'readings' ? [] : numbered(content[sheet]);
	});
}
