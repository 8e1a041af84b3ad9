import { createHash, type Hash } from 'node:crypto';
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { basename } from 'node:path';

/** SHA-256 of a file, taken piece by piece while another thread reads it. */
export class FileHash {
	readonly #path: string;
	#hash: Hash | null = null;
	#fd = -1;
	#at = 0;
	readonly #piece = new Uint8Array(1 << 18);

	constructor(path: string) {
		this.#path = path;
	}

	advance(upTo: number): void {
		this.#hash ??= this.#open();
		while (this.#at < upTo) {
			const n = readSync(
				this.#fd,
				this.#piece,
				0,
				Math.min(this.#piece.length, upTo - this.#at),
				this.#at,
			);
			if (n === 0) return;
			this.#hash.update(this.#piece.subarray(0, n));
			this.#at += n;
		}
	}

	finish(): { file: string; sha256: string; bytes: number } {
		this.#hash ??= this.#open();
		const hash = this.#hash;
		const { size } = fstatSync(this.#fd);
		this.advance(size);
		closeSync(this.#fd);
		return { file: basename(this.#path), sha256: hash.digest('hex'), bytes: this.#at };
	}

	#open(): Hash {
		this.#fd = openSync(this.#path, 'r');
		return createHash('sha256');
	}
}
