import { existsSync } from 'node:fs';
import { dirname, isAbsolute, join, resolve } from 'node:path';
import { FORM_ENDINGS } from '../contract/sheetexchange.ts';
import {
	type Answer,
	type Ask,
	CONTRACT_VERSION,
	type DeskEvent,
	type DeskState,
	type EditAnswer,
	type Reply,
	type VerbName,
} from '../contract/verbs.ts';
import { errorCode, refuse } from '../store/header.ts';
import { ProjectFile } from '../store/projectfile.ts';
import { checkDocument } from './check.ts';
import { exportDocument, saveCopyOf } from './copyout.ts';
import { createEmptyProject, createProject, inspectFolder } from './create.ts';
import { type Edited, OpenDocument } from './document.ts';
import type { DeskHandle, DeskOptions } from './door.ts';
import { type Admitted, admit } from './gate.ts';
import { type ChosenFile, type ImportReply, LoggerDesk } from './loggerdesk.ts';
import { freeName, newPath, Places, PROJECT_ENDING, titleOf } from './places.ts';
import { readSettings, withRecent, writeSettings } from './recent.ts';

type Handlers = { [V in VerbName]: (ask: Ask<V>) => Promise<Reply<Answer<V>>> };

/** Answered at once, also while a long command runs: they neither look at the document's rows nor change it. */
const OUT_OF_TURN: ReadonlySet<VerbName> = new Set([
	'desk.state',
	'recent.list',
	'places.list',
	'places.choose',
	'places.chooseFiles',
	'project.inspectFolder',
	'logger.inspect',
	'logger.cancel',
	'logger.unfinished',
	'logger.profiles',
	'logger.sources',
]);

/** Loaded when a sheet first goes out or in: the desk opens without what reads and writes workbooks. */
const sheetExchange = () => import('./sheetexchange.ts');

const DEMO_NAME = 'Slurry Ledger demo';

/** The one way in: hosts, command line and tests all stand before this. */
export function openDesk(options: DeskOptions): DeskHandle {
	return new Desk(options);
}

class Desk implements DeskHandle {
	readonly #options: DeskOptions;
	readonly #places = new Places();
	readonly #logger = new LoggerDesk();
	readonly #listeners = new Set<(event: DeskEvent) => void>();
	readonly #handlers: Handlers = this.#makeHandlers();
	#person: string;
	#document: OpenDocument | null = null;
	/** Commands run one after the other; each waits for the one before. */
	#turn: Promise<unknown> = Promise.resolve();
	#seq = 0;
	#closed = false;

	constructor(options: DeskOptions) {
		this.#options = options;
		this.#person = readSettings(options.settingsFolder).person ?? options.person;
	}

	async handle(verb: unknown, ask: unknown): Promise<Reply<unknown>> {
		const admitted = admit(verb, ask);
		if (!admitted.ok) return admitted;
		return this.#answer(admitted.value);
	}

	openFile(path: string): Promise<Reply<unknown>> {
		return this.#inTurn(() =>
			isAbsolute(path)
				? this.#open(resolve(path))
				: Promise.resolve(refuse('cannot_read', 'The file was not named by its whole path.')),
		);
	}

	listen(hear: (event: DeskEvent) => void): () => void {
		this.#listeners.add(hear);
		return () => this.#listeners.delete(hear);
	}

	close(): void {
		this.#closed = true;
		this.#logger.cancel();
		this.#document?.close();
		this.#document = null;
		this.#listeners.clear();
	}

	#answer({ verb, ask }: Admitted): Promise<Reply<unknown>> {
		const handler = this.#handlers[verb] as (ask: unknown) => Promise<Reply<unknown>>;
		return OUT_OF_TURN.has(verb) ? guarded(() => handler(ask)) : this.#inTurn(() => handler(ask));
	}

	#inTurn(work: () => Promise<Reply<unknown>>): Promise<Reply<unknown>> {
		const answer = this.#turn.then(() =>
			this.#closed
				? refuse('desk_closed', 'The desk is closed.')
				: guarded(async () => {
						await this.#catchUp();
						return work();
					}),
		);
		this.#turn = answer;
		return answer;
	}

	/** A document open for reading follows what its writer confirms. */
	async #catchUp(): Promise<void> {
		if (this.#document === null || !(await this.#document.catchUp())) return;
		this.#push({ event: 'state', state: this.#state() });
	}

	#push(event: DeskEvent): void {
		for (const hear of this.#listeners) {
			try {
				hear(event);
			} catch {
				// A listener that fails must not keep the others, or the command, from going on.
			}
		}
	}

	#state(): DeskState {
		const { appVersion, host, choosePath } = this.#options;
		return {
			contract: CONTRACT_VERSION,
			appVersion,
			host,
			nativeDialogs: choosePath !== undefined,
			person: this.#person,
			document: this.#document?.state() ?? null,
		};
	}

	#pushState(): Reply<DeskState> {
		const state = this.#state();
		this.#push({ event: 'state', state });
		return { ok: true, value: state };
	}

	readonly #progress = (what: string, done: number, of: number | null): void => {
		this.#push({ event: 'progress', what, done, of });
	};

	async #open(path: string): Promise<Reply<DeskState>> {
		if (this.#document?.path === path) return this.#pushState();
		const file = ProjectFile.open({
			path,
			for: 'write',
			person: this.#person,
			now_s: this.#options.now_s(),
		});
		if (!file.ok) return file;
		const opened = await OpenDocument.open(file.value, this.#progress);
		if (!opened.ok) return opened;
		this.#document?.close();
		if (this.#closed) {
			opened.value.close();
			return refuse('desk_closed', 'The desk is closed.');
		}
		this.#document = opened.value;
		const settings = readSettings(this.#options.settingsFolder);
		writeSettings(
			this.#options.settingsFolder,
			withRecent(settings, {
				path,
				title: opened.value.state().title,
				opened_s: this.#options.now_s(),
			}),
		);
		return this.#pushState();
	}

	/** Makes a project from a plain folder and opens it. */
	async #create(
		folder: string,
		target: string,
		take: 'all' | 'goodRows',
	): Promise<Reply<DeskState>> {
		const made = await createProject({
			folder,
			target,
			take,
			person: this.#person,
			now_s: this.#options.now_s(),
			appVersion: this.#options.appVersion,
			onProgress: this.#progress,
		});
		return made.ok ? this.#open(target) : made;
	}

	async #withDocument<T>(
		work: (document: OpenDocument) => Reply<T> | Promise<Reply<T>>,
	): Promise<Reply<T>> {
		return this.#document === null
			? refuse('no_document', 'No project is open.')
			: work(this.#document);
	}

	/** Runs an editing command, numbers its changes and tells every page. */
	#edit(work: (document: OpenDocument) => Promise<Reply<Edited>>): Promise<Reply<EditAnswer>> {
		return this.#withDocument<EditAnswer>(async (document) => {
			const { readOnlyWhy } = document.state();
			if (readOnlyWhy !== null)
				return refuse('read_only', `The project cannot be changed here: ${readOnlyWhy}`);
			const answer = await work(document);
			return answer.ok ? { ok: true, value: this.#tell(answer.value) } : answer;
		});
	}

	/** Numbers what a command changed and tells every page. */
	#tell({ changes: made, refused }: Edited): EditAnswer {
		if (made === null) return { changes: null, refused };
		const { whole, ...changed } = made;
		if (!whole) {
			// A number is left out, which tells pages to ask for their sheets again. The empty set
			// before it is for pages that have heard no number yet.
			this.#push({ event: 'changed', changes: { ...changed, seq: ++this.#seq } });
			this.#seq++;
		}
		const changes = { ...changed, seq: ++this.#seq };
		this.#push({ event: 'changed', changes });
		return { changes, refused: [] };
	}

	#by(): { who: string; at_s: number } {
		return { who: this.#person, at_s: this.#options.now_s() };
	}

	#target(intoId: string, name: string, ending: string): Reply<string> {
		const folder = this.#places.pathOf(intoId);
		return folder.ok ? newPath(folder.value, name, ending) : folder;
	}

	#filesOf(placeIds: readonly string[]): Reply<ChosenFile[]> {
		const chosen: ChosenFile[] = [];
		for (const placeId of placeIds) {
			const path = this.#places.pathOf(placeId);
			if (!path.ok) return path;
			chosen.push({ placeId, path: path.value });
		}
		return { ok: true, value: chosen };
	}

	#imported(made: ImportReply): Reply<Answer<'logger.import'>> {
		if (!made.ok) return made;
		const { answer, renewed } = made.value;
		if (renewed !== null) this.#takeRenewed(renewed, 'import of logger files');
		return { ok: true, value: answer };
	}

	/** The document anew: a number is left out, which tells pages to ask for their sheets again. */
	#takeRenewed(renewed: OpenDocument, label: string): void {
		this.#document = renewed;
		const document = renewed.state();
		for (const seq of [this.#seq + 1, this.#seq + 3])
			this.#push({ event: 'changed', changes: { seq, label, sheets: {}, document } });
		this.#seq += 3;
		this.#pushState();
	}

	#makeHandlers(): Handlers {
		return {
			'desk.state': async () => ({ ok: true, value: this.#state() }),
			'person.set': async ({ person }) => {
				this.#person = person;
				const { settingsFolder } = this.#options;
				writeSettings(settingsFolder, { ...readSettings(settingsFolder), person });
				return this.#pushState();
			},
			'recent.list': async () => ({
				ok: true,
				value: readSettings(this.#options.settingsFolder).recent.map((one) => ({
					placeId: this.#places.tokenOf(one.path),
					title: one.title,
					folder: dirname(one.path),
					opened_s: one.opened_s,
					exists: existsSync(one.path),
				})),
			}),
			'places.list': async ({ placeId }) => {
				if (placeId === undefined) return this.#places.list(this.#options.documentsFolder);
				const path = this.#places.pathOf(placeId);
				return path.ok ? this.#places.list(path.value) : path;
			},
			'places.choose': async ({ purpose, suggest }) => {
				const { choosePath } = this.#options;
				if (choosePath === undefined)
					return refuse('no_dialog', 'This host has no dialog of the system; list the places.');
				const path = await choosePath(purpose, suggest);
				if (path === null) return { ok: true, value: null };
				const place = purpose === 'save-project' || purpose === 'save-sheet' ? dirname(path) : path;
				const title =
					purpose === 'export-folder' ? freeName(path, suggest ?? 'export') : titleOf(path);
				return { ok: true, value: { placeId: this.#places.tokenOf(place), title } };
			},
			'places.chooseFiles': async ({ of }) => {
				const { chooseFiles } = this.#options;
				if (chooseFiles === undefined)
					return refuse('no_dialog', 'This host has no dialog of the system; list the places.');
				const paths = await chooseFiles(of ?? 'logger');
				const value =
					paths?.map((path) => ({
						placeId: this.#places.tokenOf(path),
						title: titleOf(path),
					})) ?? null;
				return { ok: true, value };
			},
			'project.open': async ({ placeId }) => {
				const path = this.#places.pathOf(placeId);
				return path.ok ? this.#open(path.value) : path;
			},
			'project.openDemo': async () => {
				const { documentsFolder, demoFolder } = this.#options;
				const path = join(documentsFolder, `${DEMO_NAME}${PROJECT_ENDING}`);
				if (existsSync(path)) return this.#open(path);
				const target = newPath(documentsFolder, DEMO_NAME, PROJECT_ENDING);
				return target.ok ? this.#create(demoFolder, target.value, 'all') : target;
			},
			'project.inspectFolder': async ({ folderId }) => {
				const path = this.#places.pathOf(folderId);
				return path.ok ? inspectFolder(path.value, this.#progress) : path;
			},
			'project.create': async ({ folderId, intoId, name, take }) => {
				const folder = this.#places.pathOf(folderId);
				if (!folder.ok) return folder;
				const target = this.#target(intoId, name, PROJECT_ENDING);
				return target.ok ? this.#create(folder.value, target.value, take) : target;
			},
			'project.createEmpty': async ({ intoId, name, ...drive }) => {
				const target = this.#target(intoId, name, PROJECT_ENDING);
				if (!target.ok) return target;
				const made = createEmptyProject({
					target: target.value,
					drive,
					person: this.#person,
					now_s: this.#options.now_s(),
					appVersion: this.#options.appVersion,
				});
				return made.ok ? this.#open(target.value) : made;
			},
			'project.saveCopy': ({ intoId, name }) =>
				this.#withDocument(async (document) => {
					const target = this.#target(intoId, name, PROJECT_ENDING);
					return target.ok ? saveCopyOf(document, target.value, this.#progress) : target;
				}),
			'project.exportFolder': ({ intoId, name }) =>
				this.#withDocument(async (document) => {
					const target = this.#target(intoId, name, '');
					return target.ok ? exportDocument(document, target.value) : target;
				}),
			'project.close': async () => {
				this.#document?.close();
				this.#document = null;
				return this.#pushState();
			},
			'project.check': () =>
				this.#withDocument((document) => ({ ok: true, value: checkDocument(document) })),

			'sheet.rows': (ask) =>
				this.#withDocument((document) => ({
					ok: true,
					value: document.sheetRows(ask.sheet, ask.fromRing ?? null, ask.toRing ?? null),
				})),
			'sheet.edit': (ask) => this.#edit((document) => document.edit(ask, this.#by())),
			'sheet.add': (ask) => this.#edit((document) => document.add(ask, this.#by())),
			'sheet.delete': (ask) => this.#edit((document) => document.remove(ask, this.#by())),
			'history.undo': () => this.#edit((document) => document.undo(this.#by())),
			'history.redo': () => this.#edit((document) => document.redo(this.#by())),

			'ring.detail': ({ ring }) => this.#withDocument((document) => document.ringDetail(ring)),
			'ring.timeline': ({ ring, points }) =>
				this.#withDocument((document) => document.ringTimeline(ring, points)),
			'meters.checks': () =>
				this.#withDocument((document) =>
					document.meterChecks(this.#options.now_s(), this.#progress),
				),
			'logger.inspect': ({ files, layout, profile }) =>
				this.#withDocument((document) => {
					const chosen = this.#filesOf(files);
					if (!chosen.ok) return chosen;
					const by = { layout: layout ?? null, profile: profile ?? null };
					return this.#logger.inspect(document, chosen.value, by);
				}),
			'logger.import': (ask) =>
				this.#withDocument(async (document) => {
					const chosen = this.#filesOf(ask.files);
					if (!chosen.ok) return chosen;
					const made = await this.#logger.import(
						document,
						{
							...ask,
							files: chosen.value.map(({ path }) => path),
							saveAs: ask.saveAs ?? null,
							take: ask.take ?? 'all',
						},
						this.#by(),
						this.#progress,
					);
					return this.#imported(made);
				}),
			'logger.unfinished': () =>
				this.#withDocument((document) => ({
					ok: true,
					value: this.#logger.unfinished(document),
				})),
			'logger.goOn': () =>
				this.#withDocument(async (document) =>
					this.#imported(await this.#logger.goOn(document, this.#by(), this.#progress)),
				),
			'logger.discard': () => this.#withDocument((document) => this.#logger.discard(document)),
			'logger.cancel': async () => ({ ok: true, value: { cancelled: this.#logger.cancel() } }),
			'logger.profiles': () =>
				this.#withDocument((document) => ({ ok: true, value: this.#logger.profiles(document) })),
			'logger.sources': () =>
				this.#withDocument((document) => ({ ok: true, value: this.#logger.sources(document) })),
			'sheet.export': ({ sheet, form, intoId, name }) =>
				this.#withDocument(async (document) => {
					const target = this.#target(intoId, name, FORM_ENDINGS[form]);
					if (!target.ok) return target;
					const { exportSheet } = await sheetExchange();
					return exportSheet(document, sheet, form, target.value);
				}),
			'exchange.inspect': ({ sheet, fileId, reading }) =>
				this.#withDocument(async (document) => {
					const path = this.#places.pathOf(fileId);
					if (!path.ok) return path;
					const { inspectSheet } = await sheetExchange();
					return inspectSheet(document, sheet, path.value, reading);
				}),
			'exchange.take': ({ fileId, ...ask }) =>
				this.#withDocument(async (document) => {
					const { readOnlyWhy } = document.state();
					if (readOnlyWhy !== null)
						return refuse('read_only', `The project cannot be changed here: ${readOnlyWhy}`);
					const path = this.#places.pathOf(fileId);
					if (!path.ok) return path;
					const { takeSheet } = await sheetExchange();
					const made = await takeSheet(document, { ...ask, path: path.value }, this.#by());
					if (!made.ok) return made;
					if (made.value.edited !== null) this.#tell(made.value.edited);
					return { ok: true, value: made.value.taken };
				}),
			'formula.check': (ask) =>
				this.#withDocument((document) => ({ ok: true, value: document.formulas.check(ask) })),
			'formula.suggest': (ask) =>
				this.#withDocument((document) => ({ ok: true, value: document.formulas.suggest(ask) })),
			'cell.working': ({ sheet, row, column }) =>
				this.#withDocument((document) => document.working(sheet, row, column)),
		};
	}
}

/**
 * Answers what the system or SQLite throws (disk full, folder gone) as a refusal. The text of an
 * unknown error may hold data of the document, so only its code is passed on.
 */
async function guarded(work: () => Promise<Reply<unknown>>): Promise<Reply<unknown>> {
	try {
		return await work();
	} catch (error) {
		const code = errorCode(error);
		return /^(E[A-Z]+|ERR_[A-Z_]+)$/.test(code)
			? refuse('system', `The system did not do it (${code}). Nothing of this command was kept.`)
			: refuse('desk_failed', 'The desk could not do this. What was confirmed before is kept.');
	}
}
