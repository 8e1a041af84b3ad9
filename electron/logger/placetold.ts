import type { FaultsSoFar } from '../folder/faultlist.ts';
import type { LoggerBatch } from './batch.ts';
import type { BatchPlace } from './messages.ts';
import type { FilesRead, RecordPlace } from './readrecord.ts';

/** Where reading stood before each batch, told in as few words as the series thread needs. */
export class PlaceTold {
	#faultsTold: number;
	#before: FilesRead | null = null;
	#atBegin: FaultsSoFar | null = null;
	#atBatch: FaultsSoFar | null = null;
	#from_s: number | null = null;
	#goOnFrom_s: number | null;

	/** `goOn`: what the series thread knows already. */
	constructor(goOn: RecordPlace | null) {
		this.#faultsTold = goOn?.faults.listed.length ?? 0;
		this.#goOnFrom_s = goOn === null || goOn.place === null ? null : goOn.from_s;
	}

	begins(before: FilesRead, faults: FaultsSoFar): void {
		this.#before = before;
		this.#atBegin = faults;
		this.#from_s = this.#goOnFrom_s;
		this.#goOnFrom_s = null;
	}

	of(
		batch: LoggerBatch,
		known: Pick<BatchPlace, 'place' | 'firstTime_s' | 'gapLimit_s'>,
	): BatchPlace {
		// What is read from the beginning of its file once more finds its faults once more.
		const faults = known.place === null ? this.#atBegin : this.#atBatch;
		const { listed, beyond, stops } = faults ?? { listed: [], beyond: [], stops: 0 };
		const told: BatchPlace = {
			...known,
			before: this.#before,
			from_s: known.place === null ? null : this.#from_s,
			faults: { listed: listed.slice(this.#faultsTold), beyond, stops },
		};
		this.#faultsTold = Math.max(this.#faultsTold, listed.length);
		this.#before = null;
		this.#from_s ??= batch.time_s[0]!;
		return told;
	}

	passed(faults: FaultsSoFar): void {
		this.#atBatch = faults;
	}
}
