import { randomUUID } from 'node:crypto';
import { mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { z } from 'zod';

/** The person's settings on this machine: projects opened lately and the name they work under. */
const settingsShape = z.object({
	person: z.string().trim().min(1).max(80).optional(),
	recent: z
		.array(
			z.object({
				path: z.string().min(1).max(4_096),
				title: z.string().max(400),
				opened_s: z.number(),
			}),
		)
		.max(200)
		.default([]),
});
export type Settings = z.infer<typeof settingsShape>;
export type RecentProject = Settings['recent'][number];

const MOST_RECENT = 12;
const FILE = 'settings.json';

/** What is kept in the folder; a missing or unusable file is an empty one, it holds nothing that cannot be had again. */
export function readSettings(folder: string): Settings {
	try {
		const parsed = settingsShape.safeParse(JSON.parse(readFileSync(join(folder, FILE), 'utf8')));
		if (parsed.success) return parsed.data;
	} catch {
		// Not there, or not JSON.
	}
	return { recent: [] };
}

/** Replaces the file as a whole, so that a crash leaves the old or the new one. False if the folder takes no file. */
export function writeSettings(folder: string, settings: Settings): boolean {
	const part = join(folder, `.${FILE}.${randomUUID()}`);
	try {
		mkdirSync(folder, { recursive: true });
		writeFileSync(part, `${JSON.stringify(settings, null, '\t')}\n`, { flush: true });
		renameSync(part, join(folder, FILE));
		return true;
	} catch {
		rmSync(part, { force: true });
		return false;
	}
}

/** The settings with a project put in front of the recent ones. */
export function withRecent(settings: Settings, project: RecentProject): Settings {
	const others = settings.recent.filter((one) => one.path !== project.path);
	return { ...settings, recent: [project, ...others].slice(0, MOST_RECENT) };
}
