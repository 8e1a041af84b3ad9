import type { SignalFault } from './faultrules.ts';

/** Findings closer than this are one stretch, s. */
const MERGE_S = 10;

type Stretch = { -readonly [K in keyof SignalFault]: SignalFault[K] };

/**
 * Collects findings. Spikes, and repeated rows, that follow within ten seconds become one stretch.
 * Gives a handle by which a finding that later proves to be another can be put right.
 *
 * @example
 * const list = new FaultList();
 * list.add({ kind: 'spike', signal: 'feedFlow_m3_s', from_s: 5, to_s: 5, count: 1, rule: 'r' });
 * list.add({ kind: 'spike', signal: 'feedFlow_m3_s', from_s: 9, to_s: 10, count: 2, rule: 'r' });
 * list.sorted() // => [{ "kind": "spike", "signal": "feedFlow_m3_s", "from_s": 5, "to_s": 10, "count": 3, "rule": "r" }]
 */
export class FaultList {
	readonly #found = new Set<Stretch>();
	/** The last stretch of each kind, signal and rule that may still grow. */
	readonly #growing = new Map<string, Stretch>();

	/** Adds a finding, or lengthens the one before it, and gives the stretch it stands in. */
	add(fault: SignalFault): SignalFault {
		const merges = fault.kind === 'spike' || fault.kind === 'repeated_rows';
		const key = `${fault.kind} ${fault.signal ?? ''} ${fault.rule}`;
		const before = merges ? this.#growing.get(key) : undefined;
		const since = before === undefined ? Number.NaN : fault.from_s - before.to_s;
		if (before !== undefined && fault.from_s >= before.from_s && since <= MERGE_S) {
			before.to_s = Math.max(before.to_s, fault.to_s);
			before.count += fault.count;
			return before;
		}
		const own = { ...fault };
		this.#found.add(own);
		if (merges) this.#growing.set(key, own);
		return own;
	}

	/** Changes a stretch that was added here. */
	correct(stretch: SignalFault, to: Partial<SignalFault>): void {
		if (this.#found.has(stretch)) Object.assign(stretch, to);
	}

	remove(stretch: SignalFault): void {
		this.#found.delete(stretch);
	}

	/** Copies in order of time, then of kind and signal. */
	sorted(): SignalFault[] {
		const rank = ({ kind, signal }: SignalFault): string => `${kind} ${signal ?? ''}`;
		return [...this.#found]
			.map((fault) => ({ ...fault }))
			.sort((a, b) => {
				if (a.from_s !== b.from_s) return a.from_s - b.from_s;
				const [x, y] = [rank(a), rank(b)];
				return x < y ? -1 : x > y ? 1 : a.to_s - b.to_s;
			});
	}
}
