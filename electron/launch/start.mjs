import { resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { runToEnd } from './child.mjs';
import { electronProgram } from './electronbinary.mjs';
import { freshBuild } from './fresh.mjs';
import { inRoot, ROOT } from './place.mjs';
import { SetUpFailed, setUp } from './setup.mjs';

const USAGE = `npm start -- [OPTIONS] [PROJECT.slurrybook]
  --loopback        use the loopback host even if Electron is there
  --electron        try to fetch Electron although that failed lately
  --no-open         print the address instead of opening a window (loopback host)
  --port N          port of the loopback host; default one that is free
  --settings DIR    keep settings there; --documents DIR: start choosing files there
`;

process.exitCode = await start();

async function start() {
	let asked;
	try {
		asked = parseArgs({
			allowPositionals: true,
			options: {
				loopback: { type: 'boolean' },
				electron: { type: 'boolean' },
				'no-open': { type: 'boolean' },
				port: { type: 'string' },
				settings: { type: 'string' },
				documents: { type: 'string' },
				help: { type: 'boolean' },
			},
		});
	} catch (error) {
		process.stderr.write(`${error.message}\n${USAGE}`);
		return 2;
	}
	const { values, positionals } = asked;
	if (values.help || positionals.length > 1) {
		process.stderr.write(USAGE);
		return values.help ? 0 : 2;
	}
	try {
		const node = await setUp();
		const built = await freshBuild(node);
		if (built !== 0) return built;
		return await open(
			node,
			values,
			positionals.map((file) => resolve(file)),
		);
	} catch (error) {
		if (!(error instanceof SetUpFailed)) throw error;
		process.stderr.write(`${error.message}\n`);
		return 1;
	}
}

async function open(node, values, files) {
	const say = (line) => process.stdout.write(`${line}\n`);
	const folders = ['settings', 'documents'].flatMap((name) =>
		values[name] === undefined ? [] : [`--${name}=${resolve(values[name])}`],
	);
	const electron =
		loopbackWanted(values) ?? (await electronProgram(node, { say, insist: values.electron }));
	if ('program' in electron) {
		say('Opening under Electron.');
		return runToEnd(electron.program, [ROOT, ...folders, ...files]);
	}
	say(`Opening on the loopback host, not under Electron: ${electron.why}.`);
	const rest = [
		...(values['no-open'] ? ['--no-open'] : []),
		...(values.port === undefined ? [] : [`--port=${values.port}`]),
	];
	return runToEnd(node, [inRoot('dist', 'desk', 'loopback.mjs'), ...folders, ...rest, ...files]);
}

/** Why Electron is not even tried, or null. */
function loopbackWanted(values) {
	if (values.loopback) return { why: 'it was asked for' };
	if (values['no-open'] || values.port !== undefined) {
		return { why: 'an address was asked for, not a window' };
	}
	if (process.platform === 'linux') {
		if (!process.env.DISPLAY && !process.env.WAYLAND_DISPLAY) {
			return { why: 'this machine has no screen' };
		}
		if (process.getuid() === 0) return { why: 'Electron does not run as root in its sandbox' };
	}
	return null;
}
