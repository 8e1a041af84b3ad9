import type { DatabaseSync } from 'node:sqlite';
import { MODES, type Mode } from '../../calc/circuit/samples.ts';
import type { RuleStretch } from '../logger/layout/rulestretch.ts';
import type { SourceFile } from './projectfile.ts';

/**
 * What a document keeps of logger imports besides the series: the files, named layouts, and which
 * series its kept balances were made from.
 */
export interface ImportRecord {
	readonly who: string;
	/** Unix seconds, UTC. */
	readonly at_s: number;
	readonly label: string;
	/** What was imported and how, as canonical JSON; the `new` of the journal entry. */
	readonly content: string;
	readonly sources: readonly SourceFile[];
	/** Layout to keep under a name, as JSON; null: none. */
	readonly profile: { readonly name: string; readonly text: string } | null;
	/** Which rule told the mode of which stamps of these files. */
	readonly modeRules: readonly RuleStretch[];
	/** null: the series is as it was. */
	readonly series: {
		readonly id: string;
		/** Rings whose kept balances looked at what has changed. */
		readonly goneRings: readonly number[];
	} | null;
}

const PROFILE = 'logger_profile:';
const SERIES_KEY = 'balances_series';
const MODE_RULES = 'mode_rules';
/** A longer reason was not written by us, characters. */
const LONGEST_WHY = 2_000;

/** Which rule told the mode of which stamps of the series, in order of time; empty where modes were recorded. */
export function keptModeRules(db: DatabaseSync): RuleStretch[] {
	const value = db.prepare('SELECT value FROM document WHERE key = ?').get(MODE_RULES)?.value;
	if (typeof value !== 'string') return [];
	try {
		const read: unknown = JSON.parse(value);
		if (!Array.isArray(read) || !read.every(isRuleStretch)) return [];
		return read.map(({ from_s, to_s, mode, why }) => ({ from_s, to_s, mode, why }));
	} catch {
		return [];
	}
}

function isRuleStretch(read: unknown): read is RuleStretch {
	if (typeof read !== 'object' || read === null) return false;
	const { from_s, to_s, mode, why } = read as Partial<Record<keyof RuleStretch, unknown>>;
	return (
		Number.isFinite(from_s) &&
		Number.isFinite(to_s) &&
		MODES.includes(mode as Mode) &&
		typeof why === 'string' &&
		why.length <= LONGEST_WHY
	);
}

/** Stretches that lie within what is told anew give way to it. */
function withStretches(kept: readonly RuleStretch[], told: readonly RuleStretch[]): RuleStretch[] {
	const from_s = Math.min(...told.map((one) => one.from_s));
	const to_s = Math.max(...told.map((one) => one.to_s));
	return [...kept.filter((one) => one.from_s < from_s || one.to_s > to_s), ...told].sort(
		(a, b) => a.from_s - b.from_s,
	);
}

/** Which series the kept balances were made from; null: the document does not say, and has known no other. */
export function balancesSeries(db: DatabaseSync): string | null {
	const value = db.prepare('SELECT value FROM document WHERE key = ?').get(SERIES_KEY)?.value;
	return typeof value === 'string' ? value : null;
}

export function setBalancesSeries(db: DatabaseSync, id: string): void {
	db.prepare('INSERT OR REPLACE INTO document (key, value) VALUES (?, ?)').run(SERIES_KEY, id);
}

export function loggerProfiles(db: DatabaseSync): { name: string; text: string }[] {
	return db
		.prepare('SELECT key, value FROM document WHERE substr(key, 1, ?) = ? ORDER BY key')
		.all(PROFILE.length, PROFILE)
		.map((row) => ({ name: String(row.key).slice(PROFILE.length), text: String(row.value) }));
}

/** Everything of an import but its journal entry, inside the caller's transaction. */
export function writeImport(
	db: DatabaseSync,
	{ sources, profile, series, modeRules }: ImportRecord,
): void {
	const set = db.prepare('INSERT OR REPLACE INTO document (key, value) VALUES (?, ?)');
	if (profile !== null) set.run(`${PROFILE}${profile.name}`, profile.text);
	const known = db.prepare('SELECT file FROM source_file WHERE sha256 = ?');
	const taken = db.prepare('SELECT 1 FROM source_file WHERE file = ?');
	const put = db.prepare('INSERT INTO source_file VALUES (?, ?, ?, ?, ?, ?)');
	for (const source of sources) {
		if (known.get(source.sha256) !== undefined) continue;
		// Exports of other days often bear the same name.
		let { file } = source;
		for (let n = 2; taken.get(file) !== undefined; n++) file = `${source.file} (${n})`;
		const { sha256, bytes, rows, firstTime_s, lastTime_s } = source;
		put.run(file, sha256, bytes, rows, firstTime_s, lastTime_s);
	}
	if (modeRules.length > 0)
		set.run(MODE_RULES, JSON.stringify(withStretches(keptModeRules(db), modeRules)));
	if (series === null) return;
	set.run('has_logger', 1);
	set.run(SERIES_KEY, series.id);
	const drop = db.prepare('DELETE FROM logger_balance WHERE ring = ?');
	for (const ring of series.goneRings) drop.run(ring);
}
