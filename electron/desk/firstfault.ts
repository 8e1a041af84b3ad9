import { type Fault, faultLine } from '../../calc/fault/fault.ts';

/** The first fault that stops something, and how many more there are; empty if none does. */
export function firstFault(faults: readonly Fault[], moreFaults: number): string {
	const stops = faults.filter((fault) => fault.weight === 'stop');
	const [first] = stops;
	if (first === undefined) return '';
	const more = stops.length - 1 + moreFaults;
	return more > 0 ? `${faultLine(first)} And ${more} more.` : faultLine(first);
}
