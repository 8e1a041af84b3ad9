import { openArchive } from '../logger/archive.ts';
import { SeriesDamaged } from '../logger/parquet/decode.ts';
import { seriesFolderOf } from './placing.ts';
import type { LoggerSeries } from './ringledger.ts';

/** The logger's series beside a project, or null if it is not there or cannot be used; rings then stand on what the document keeps. */
export function openSeries(projectPath: string): LoggerSeries | null {
	try {
		return openArchive(seriesFolderOf(projectPath));
	} catch (error) {
		if (error instanceof SeriesDamaged) return null;
		throw error;
	}
}
