const ENDING = '.slurrybook';

/** Why a name for a file or folder will not do, or null when it will. The desk checks again on its own ground. */
export function nameFault(name: string): string | null {
	const bare = name.trim();
	if (bare === '' || bare === ENDING) return 'Give it a name.';
	// Windows forbids these marks and names; a project should open on any of the crew's machines.
	const bad = Array.from(bare).find((mark) => '<>:"/\\|?*'.includes(mark) || mark < ' ');
	if (bad !== undefined) return `The name must not contain ${bad < ' ' ? 'control marks' : bad}`;
	if (bare.startsWith('.')) return 'The name must not begin with a dot: such files are hidden.';
	if (bare.endsWith('.')) return 'The name must not end with a dot.';
	if (/^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i.test(bare)) return `${bare} is a reserved name.`;
	if (bare.length > 180) return 'The name is too long; at most 180 letters.';
	return null;
}

/** The name with the ending of project files, added once. */
export function projectName(name: string): string {
	const bare = name.trim();
	return bare.toLowerCase().endsWith(ENDING) ? bare : `${bare}${ENDING}`;
}

/** A file name made from a drive's title: marks that no file system takes become spaces. */
export function nameFromTitle(title: string): string {
	const plain = Array.from(title)
		.map((mark) => ('<>:"/\\|?*'.includes(mark) || mark < ' ' ? ' ' : mark))
		.join('')
		.replace(/\s+/g, ' ')
		.replace(/^[. ]+|[. ]+$/g, '')
		.slice(0, 120)
		.trim();
	return plain === '' || nameFault(plain) !== null ? 'Drive' : plain;
}
