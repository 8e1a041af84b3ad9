import { mkdirSync } from 'node:fs';
import { resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { openDesk } from '../desk/desk.ts';
import { openAppWindow } from './appwindow.ts';
import { firstDocument } from './firstdocument.ts';
import {
	APP_VERSION,
	demoFolder,
	documentsFolder,
	hereAndNow,
	PRODUCT,
	personName,
	settingsFolder,
} from './folders.ts';
import { serveLoopback } from './loopback.ts';
import { readPage } from './page.ts';

/** Long enough for a page that reloads or wakes up, short enough to be gone when it is closed. */
const PATIENCE_MS = 6_000;

const { values, positionals } = parseArgs({
	allowPositionals: true,
	options: {
		'no-open': { type: 'boolean', default: false },
		port: { type: 'string', default: '0' },
		page: { type: 'string', default: fileURLToPath(new URL('../page/', import.meta.url)) },
		settings: { type: 'string' },
		documents: { type: 'string' },
		demo: { type: 'string', default: demoFolder() },
	},
});

const say = (line: string) => process.stdout.write(`${line}\n`);
const around = hereAndNow();
const settings = values.settings ?? settingsFolder(around);

// A folder named on the command line is wanted, whether it is there yet or not.
if (values.documents !== undefined) mkdirSync(values.documents, { recursive: true });

const desk = openDesk({
	host: 'loopback',
	appVersion: APP_VERSION,
	now_s: () => Date.now() / 1000,
	person: personName(),
	settingsFolder: settings,
	documentsFolder: values.documents ?? documentsFolder(around),
	demoFolder: values.demo,
});
const host = await serveLoopback({
	desk,
	page: readPage(values.page, { connect: "'self'" }),
	port: Number(values.port),
	patience_ms: PATIENCE_MS,
	onLeft: () => {
		desk.close();
		say(`The last page was closed, so ${PRODUCT} closes too. Every edit is in the file.`);
		process.exit(0);
	},
});

let closing = false;
for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
	process.on(signal, () => {
		// A terminal sends the signal to this process and to the one that started it, which passes it on.
		if (closing) return;
		closing = true;
		void host.close().then(() => {
			desk.close();
			say(`${PRODUCT} is closed. Every edit is in the file.`);
			process.exit(0);
		});
	});
}

const file = positionals[0];
const problem = await firstDocument(desk, file === undefined ? null : resolve(file));
if (problem !== null) say(problem);

const opened = values['no-open']
	? { why: 'no window was asked for' }
	: await openAppWindow(host.entrance, resolve(settings, 'window'), around);
if ('program' in opened) {
	say(
		`${PRODUCT} is open in a window of ${opened.program}. Close the window or press Ctrl-C to end.`,
	);
} else {
	say(`${PRODUCT} is ready (${opened.why}). Open this address in a browser on this machine, once:`);
	say(host.entrance);
	say('It closes when its last page is closed; Ctrl-C ends it now.');
}
