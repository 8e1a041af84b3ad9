import { createHash } from 'node:crypto';
import { openArchive } from '../logger/archive.ts';
import { manifestText } from '../logger/manifest.ts';
import { SeriesDamaged } from '../logger/parquet/decode.ts';
import type { LoggerSeries } from './loggerseries.ts';
import { seriesFolderOf } from './placing.ts';

/** A series folder as the ledger needs it. Throws `SeriesDamaged` if it is none. */
export function openSeriesIn(folder: string): LoggerSeries {
	const archive = openArchive(folder);
	const { days, gapLimit_s } = archive.manifest;
	const id = createHash('sha256').update(manifestText(archive.manifest)).digest('hex');
	return {
		id,
		days,
		gapLimit_s,
		covers: (from_s, to_s) => archive.covers(from_s, to_s),
		span: (from_s, to_s) => archive.span(from_s, to_s),
		close: () => archive.close(),
	};
}

/** The logger's series beside a project, or null if it is not there or cannot be used; rings then stand on what the document keeps. */
export function openSeries(projectPath: string): LoggerSeries | null {
	try {
		return openSeriesIn(seriesFolderOf(projectPath));
	} catch (error) {
		if (error instanceof SeriesDamaged) return null;
		throw error;
	}
}
