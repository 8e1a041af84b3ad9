import { randomUUID } from 'node:crypto';
import { constants, copyFileSync, existsSync, linkSync, renameSync, rmSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { PROJECT_ENDING } from './places.ts';

/** Where the logger's series of a project stands: beside it, under the same name. */
export function seriesFolderOf(projectPath: string): string {
	const stem = projectPath.endsWith(PROJECT_ENDING)
		? projectPath.slice(0, -PROJECT_ENDING.length)
		: projectPath;
	return `${stem}.series`;
}

/**
 * A project in the making: written under hidden names beside its target and put in place when it is
 * whole, so that no half-written project is ever seen. What was begun is removed by {@link drop}.
 */
export class Placing {
	readonly target: string;
	readonly file: string;
	readonly series: string;

	constructor(target: string) {
		this.target = target;
		const stem = join(dirname(target), `.${basename(target, PROJECT_ENDING)}.${randomUUID()}`);
		this.file = `${stem}.part`;
		this.series = `${stem}.series.part`;
	}

	/** Puts the finished file and its series in place. Throws, with nothing in place, if the name was taken meanwhile. */
	finish(): void {
		const seriesTarget = seriesFolderOf(this.target);
		const withSeries = existsSync(this.series);
		if (withSeries) {
			if (existsSync(seriesTarget)) throw new Error(`"${basename(seriesTarget)}" is already there`);
			renameSync(this.series, seriesTarget);
		}
		try {
			putInPlace(this.file, this.target);
		} catch (error) {
			if (withSeries) renameSync(seriesTarget, this.series);
			throw error;
		}
	}

	drop(): void {
		rmSync(this.file, { force: true });
		rmSync(`${this.file}-journal`, { force: true });
		rmSync(this.series, { recursive: true, force: true });
	}
}

/** Gives a finished file its name without ever replacing one that is there. */
function putInPlace(part: string, target: string): void {
	try {
		linkSync(part, target);
	} catch (error) {
		const code = error instanceof Error && 'code' in error ? error.code : '';
		if (code === 'EEXIST') throw error;
		// File systems without hard links (memory sticks): a copy that refuses an existing name.
		copyFileSync(part, target, constants.COPYFILE_EXCL);
	}
	rmSync(part, { force: true });
}
