import { Worker } from 'node:worker_threads';

/** Threads of an import started ahead: they load their programs while other things are still being read. */
export class ReadyThreads {
	readonly #waiting: Worker[];

	constructor(count: number) {
		this.#waiting = Array.from({ length: count }, () => startThread());
		for (const worker of this.#waiting) worker.once('error', () => this.#leaveOut(worker));
	}

	/** One that has not been given anything to do yet; a fresh one if there is none. */
	take(): Worker {
		return this.#waiting.pop() ?? startThread();
	}

	/** Ends those that were not needed. */
	async end(): Promise<void> {
		await Promise.all(this.#waiting.splice(0).map((worker) => worker.terminate()));
	}

	/** One that failed before it had anything to do: its place is taken by a fresh one, which says why. */
	#leaveOut(worker: Worker): void {
		const at = this.#waiting.indexOf(worker);
		if (at >= 0) this.#waiting.splice(at, 1);
	}
}

/** It waits for a `WorkerTask` as its first message. */
function startThread(): Worker {
	return new Worker(new URL('./worker.ts', import.meta.url));
}
