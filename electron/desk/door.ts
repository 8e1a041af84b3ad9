import type { DeskEvent, Reply } from '../contract/verbs.ts';

/**
 * What a host holds of the desk: one way in, one way out. Hosts pass unknown input straight here;
 * the desk's gate validates verb and argument against the contract and never throws.
 */
export interface DeskHandle {
	/** `verb` and `ask` come from outside and are not trusted. */
	handle(verb: unknown, ask: unknown): Promise<Reply<unknown>>;
	/**
	 * Opens the project file at an absolute path that a host got from the person's own system
	 * (argument, double click, recent list of the system). Never called with anything a page sent.
	 * Answers like `project.open` and pushes a `state` event; a file that cannot be opened is a
	 * reply with `ok: false`.
	 */
	openFile(path: string): Promise<Reply<unknown>>;
	listen(hear: (event: DeskEvent) => void): () => void;
	/** Closes the document. Safe to call twice. */
	close(): void;
}

export interface DeskOptions {
	readonly host: 'electron' | 'loopback' | 'headless';
	readonly appVersion: string;
	/** Unix time in seconds, injected so that tests own the clock. */
	readonly now_s: () => number;
	readonly person: string;
	/** Folder for recent files and settings of this person on this machine. */
	readonly settingsFolder: string;
	/** Folder the chooser starts in and the demo drive is made in. */
	readonly documentsFolder: string;
	/** Plain folder of the invented demo drive. */
	readonly demoFolder: string;
	/**
	 * The system's dialogs, when the host has them: returns an absolute path or null. To save, the
	 * path of the new file; to export, the folder that the new one goes into.
	 */
	readonly choosePath?: (
		purpose: 'open-project' | 'open-folder' | 'save-project' | 'export-folder' | 'save-sheet',
		suggest: string | undefined,
	) => Promise<string | null>;
	/** The system's dialog for several files of a logger, or for one file of a sheet: absolute paths, or null. */
	readonly chooseFiles?: (of: 'logger' | 'sheet') => Promise<readonly string[] | null>;
}
