import { existsSync } from 'node:fs';
import { resolve } from 'node:path';
import { OpenDocument } from '../desk/document.ts';
import { ProjectFile } from '../store/projectfile.ts';
import { type Caller, type ExitCode, fail, type Streams } from './usage.ts';

/**
 * Opens a project for one errand and closes it after. For reading it works beside the desk that has the
 * project open; for writing it fails where somebody else holds it.
 */
export async function withDocument(
	project: string,
	purpose: 'read' | 'write',
	caller: Caller,
	err: Streams['err'],
	work: (document: OpenDocument) => Promise<ExitCode>,
): Promise<ExitCode> {
	const path = resolve(project);
	if (!existsSync(path)) return fail({ message: `There is no file ${project}.` }, err);
	let file = ProjectFile.open({ path, for: purpose, ...caller });
	// Of an older version: it is brought forward, if nobody has it open for writing.
	if (!file.ok && file.code === 'older_version')
		file = ProjectFile.open({ path, for: 'write', ...caller });
	if (!file.ok) return fail(file, err);
	const { readOnlyWhy } = file.value;
	if (purpose === 'write' && readOnlyWhy !== null) {
		file.value.close();
		return fail({ message: `The project cannot be changed here: ${readOnlyWhy}` }, err);
	}
	const document = await OpenDocument.open(file.value, () => {});
	if (!document.ok) return fail(document, err);
	try {
		return await work(document.value);
	} finally {
		document.value.close();
	}
}
