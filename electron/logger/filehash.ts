import { createHash } from 'node:crypto';
import { closeSync, fstatSync, openSync, readSync } from 'node:fs';
import { basename } from 'node:path';

export interface HashedFile {
	/** Name without folder. */
	readonly file: string;
	readonly sha256: string;
	readonly bytes: number;
}

/** SHA-256 of a file, taken piece by piece while it is read. */
export class FileHash {
	readonly #path: string;
	readonly #hash = createHash('sha256');
	readonly #piece = new Uint8Array(1 << 18);
	#fd: number | null = null;
	#at = 0;

	constructor(path: string) {
		this.#path = path;
	}

	/** Hashes on up to a place in the file, which must be readable. */
	advance(upTo: number): void {
		this.#fd ??= openSync(this.#path, 'r');
		while (this.#at < upTo) {
			const room = Math.min(this.#piece.length, upTo - this.#at);
			const n = readSync(this.#fd, this.#piece, 0, room, this.#at);
			if (n === 0) return;
			this.#hash.update(this.#piece.subarray(0, n));
			this.#at += n;
		}
	}

	/** How much has been hashed, and the hash of that part. */
	soFar(): { bytes: number; sha256: string } {
		return { bytes: this.#at, sha256: this.#hash.copy().digest('hex') };
	}

	/** Hashes the rest; null if the file cannot be read, which the reading thread tells. */
	finish(): HashedFile | null {
		try {
			this.#fd ??= openSync(this.#path, 'r');
			this.advance(fstatSync(this.#fd).size);
		} catch {
			return null;
		} finally {
			if (this.#fd !== null) closeSync(this.#fd);
		}
		return { file: basename(this.#path), sha256: this.#hash.digest('hex'), bytes: this.#at };
	}
}
