import { constants, copyFileSync, existsSync } from 'node:fs';
import { DatabaseSync } from 'node:sqlite';
import type { Reply } from '../contract/verbs.ts';
import { errorCode, refuse } from './header.ts';
import { APPLICATION_ID, newestVersion, type SchemaStep } from './schema.ts';

/** Makes the tables of a new file, step by step, so that a new file and a migrated one are the same. */
export function makeSchema(db: DatabaseSync, history: readonly SchemaStep[]): void {
	db.exec(`PRAGMA application_id = ${APPLICATION_ID}`);
	for (const step of history) runStep(db, step);
}

function runStep(db: DatabaseSync, step: SchemaStep): void {
	db.exec('BEGIN IMMEDIATE');
	try {
		step.apply(db);
		db.exec(`PRAGMA user_version = ${step.version}`);
		db.exec('COMMIT');
	} catch (error) {
		db.exec('ROLLBACK');
		throw error;
	}
}

/**
 * Brings a file of an older version to the newest, keeping a copy of it as it was beside it.
 * Every step is one transaction that raises the version last; a step that fails leaves the file at
 * the version before and the copy in place. The value is the path of the copy, or null if the file
 * was new enough.
 */
export function bringForward(
	db: DatabaseSync,
	path: string,
	version: number,
	history: readonly SchemaStep[],
): Reply<string | null> {
	const ahead = history.filter((step) => step.version > version);
	if (ahead.length === 0) return { ok: true, value: null };
	const copy = freeCopyName(path, version);
	try {
		copyFileSync(path, copy, constants.COPYFILE_EXCL);
	} catch (error) {
		return refuse(
			'backup_failed',
			`The project is of an older version and no copy could be made before bringing it up to date (${errorCode(error)}). Nothing was changed.`,
		);
	}
	for (const step of ahead) {
		try {
			runStep(db, step);
		} catch (error) {
			return refuse(
				'migration_failed',
				`The project could not be brought to version ${step.version} (${errorCode(error)}). It is as it was; a copy stands beside it.`,
			);
		}
	}
	const missed = schemaDifference(db, history, newestVersion(history));
	if (missed !== null) return refuse('migration_failed', missed);
	return { ok: true, value: copy };
}

function freeCopyName(path: string, version: number): string {
	for (let n = 1; ; n++) {
		const name = `${path}.version-${version}${n === 1 ? '' : `-${n}`}.bak`;
		if (!existsSync(name)) return name;
	}
}

interface SchemaObject {
	readonly type: string;
	readonly name: string;
	readonly sql: string | null;
}

/**
 * Compares what is defined in the file with what a file of `version` has: nothing more (a trigger or
 * view from elsewhere would run with our statements) and nothing less. null when they agree.
 */
export function schemaDifference(
	db: DatabaseSync,
	history: readonly SchemaStep[],
	version: number,
): string | null {
	const model = new DatabaseSync(':memory:');
	try {
		for (const step of history) if (step.version <= version) runStep(model, step);
		const expected = new Map(objectsOf(model).map((object) => [object.name, object]));
		for (const found of objectsOf(db)) {
			const known = expected.get(found.name);
			if (known === undefined)
				return `The file defines a ${found.type} "${found.name}" that a project of this version does not have.`;
			if (known.type !== found.type || known.sql !== found.sql)
				return `The ${found.type} "${found.name}" is not defined as in a project of this version.`;
			expected.delete(found.name);
		}
		const [missing] = expected.values();
		if (missing !== undefined)
			return `The ${missing.type} "${missing.name}" is missing from the file.`;
		return null;
	} finally {
		model.close();
	}
}

function objectsOf(db: DatabaseSync): SchemaObject[] {
	return db
		.prepare('SELECT type, name, sql FROM sqlite_schema ORDER BY type, name')
		.all()
		.map((row) => ({
			type: String(row.type),
			name: String(row.name),
			sql: row.sql === null ? null : String(row.sql),
		}));
}
