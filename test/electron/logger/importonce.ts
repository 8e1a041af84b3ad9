import { readFileSync } from 'node:fs';
import { importLogger, type LoggerImportAsk } from '../../../electron/logger/import.ts';
import { unfinishedImport } from '../../../electron/logger/unfinishedreader.ts';

/** Run as a process of its own: makes the import described in a file, or goes on with it, and says when it is made. */
const [path] = process.argv.slice(2);
if (path === undefined) throw new Error('importonce ASK');
const ask = JSON.parse(readFileSync(path, 'utf8')) as LoggerImportAsk;
const goOn = unfinishedImport(ask.seriesFolder);
process.stdout.write(goOn === null ? 'begins\n' : 'goes on\n');
const made = await importLogger({ ...ask, ...(goOn === null ? {} : { goOn }) });
process.stdout.write(`made ${made.rows}\n`);
