/**
 * A fault is a value, not an exception: something in the data that stops a figure from being
 * worked out or a row from being taken. Programmer mistakes are thrown; faults are returned,
 * shown at their origin, and exported.
 */
export interface Fault {
	/** Stable identifier a script may rely on, e.g. `flow_negative`. The wording may change, the code may not. */
	readonly code: string;
	/** One sentence for a person: what is wrong and what was expected. */
	readonly message: string;
	/** Where it stands. Every part that is known is given. */
	readonly where: FaultPlace;
	/** `stop`: the row or figure cannot be used. `note`: it is used, and this is shown beside it. */
	readonly weight: 'stop' | 'note';
}

export interface FaultPlace {
	/** File of the plain folder, or sheet of the document (`readings.csv`, `rings`). */
	readonly file?: string;
	/** Line in the file, the header being row 1; or row number in the sheet. */
	readonly row?: number;
	/** Ring number the fault concerns. */
	readonly ring?: number;
	/** Column id, as in the catalogue. */
	readonly column?: string;
	/** The offending text exactly as it was found. */
	readonly value?: string;
	/** What would have been accepted, in words. */
	readonly expected?: string;
}

/** Make a fault that stops its row or figure. */
export function stopFault(code: string, message: string, where: FaultPlace = {}): Fault {
	return { code, message, where, weight: 'stop' };
}

/** Make a fault that is only noted beside a figure that is still given. */
export function noteFault(code: string, message: string, where: FaultPlace = {}): Fault {
	return { code, message, where, weight: 'note' };
}

/**
 * One line naming file, row, column, value and what was expected; parts that are not known are left out.
 *
 * @example
 * faultLine(stopFault('mode_unknown', 'The mode is not one of the four.', { file: 'readings.csv', row: 7, column: 'mode', value: 'drill', expected: 'advance, bypass, back_flush or stop' }))
 * // => "readings.csv row 7, column mode, value \"drill\": The mode is not one of the four. Expected advance, bypass, back_flush or stop. [mode_unknown]"
 */
export function faultLine(fault: Fault): string {
	const { file, row, ring, column, value, expected } = fault.where;
	const place: string[] = [];
	const head = [file, row === undefined ? undefined : `row ${row}`].filter((p) => p !== undefined);
	if (head.length > 0) place.push(head.join(' '));
	if (ring !== undefined) place.push(`ring ${ring}`);
	if (column !== undefined) place.push(`column ${column}`);
	if (value !== undefined) place.push(`value ${JSON.stringify(value)}`);
	const before = place.length > 0 ? `${place.join(', ')}: ` : '';
	const after = expected === undefined ? '' : ` Expected ${expected}.`;
	return `${before}${fault.message}${after} [${fault.code}]`;
}
