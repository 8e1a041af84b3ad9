import type { ReadSource } from './sourcetable.ts';

/** The file that was cut into fields last: while its fields are mapped by hand it is read again and again. */
export class SourceCache {
	#key: string | null = null;
	#source: ReadSource | null = null;

	/** The source under that key, made if it is not the last one. */
	async of(key: string, make: () => Promise<ReadSource> | ReadSource): Promise<ReadSource> {
		if (this.#key === key && this.#source !== null) return this.#source;
		// The one before is let go first: two large files need not be held at once.
		this.#key = null;
		this.#source = null;
		const source = await make();
		this.#key = key;
		this.#source = source;
		return source;
	}

	forget(): void {
		this.#key = null;
		this.#source = null;
	}
}
