/**
 * A pipe in plug flow: what goes in first comes out first, nothing mixes on the way. Its content is
 * a row of plugs, each with a volume and an excess density that runs linearly from its leading to its
 * trailing face, for all solids together and for the bentonite among them. Cutting a plug conserves
 * its mass exactly, so the line neither makes nor loses anything.
 */
export class PlugLine {
	#volume = new Float64Array(512);
	/** Per plug: total at leading and trailing face, bentonite at leading and trailing face. */
	#excess = new Float64Array(2048);
	#mask = 511;
	#head = 0;
	#count = 0;

	/** Excess mass taken out by the last `pop`, kg: all solids, and the bentonite among them. */
	poppedExcess_kg = 0;
	poppedBentonite_kg = 0;

	/** Excess density at the outlet now, kg/m³; NaN for an empty pipe. */
	get outletExcess_kg_m3(): number {
		return this.#count === 0 ? Number.NaN : this.#excess[this.#head * 4]!;
	}

	/** Volume and excess masses held, m³ and kg. */
	held(): { volume_m3: number; excess_kg: number; bentonite_kg: number } {
		let volume = 0;
		let excess = 0;
		let bentonite = 0;
		for (let i = 0; i < this.#count; i++) {
			const slot = (this.#head + i) & this.#mask;
			const v = this.#volume[slot]!;
			const at = slot * 4;
			volume += v;
			excess += (v * (this.#excess[at]! + this.#excess[at + 1]!)) / 2;
			bentonite += (v * (this.#excess[at + 2]! + this.#excess[at + 3]!)) / 2;
		}
		return { volume_m3: volume, excess_kg: excess, bentonite_kg: bentonite };
	}

	/** Feeds a plug in at the inlet: excess densities (all solids, bentonite) of its first and last drop. */
	push(volume_m3: number, first: number, last: number, firstB: number, lastB: number): void {
		if (!(volume_m3 > 0)) return;
		if (this.#count > this.#mask) this.#grow();
		this.#put((this.#head + this.#count) & this.#mask, volume_m3, first, last, firstB, lastB);
		this.#count++;
	}

	/** Inserts a piece of pipe at the outlet, filled with one suspension. */
	insertAtOutlet(volume_m3: number, excess_kg_m3: number, bentonite_kg_m3: number): void {
		if (!(volume_m3 > 0)) return;
		if (this.#count > this.#mask) this.#grow();
		this.#head = (this.#head - 1) & this.#mask;
		this.#put(this.#head, volume_m3, excess_kg_m3, excess_kg_m3, bentonite_kg_m3, bentonite_kg_m3);
		this.#count++;
	}

	/** Takes a volume out at the outlet; throws RangeError if the pipe does not hold it. */
	pop(volume_m3: number): void {
		this.#take(volume_m3, null);
	}

	/** As `pop`, and what comes out goes into the other pipe as it is. */
	popInto(other: PlugLine, volume_m3: number): void {
		this.#take(volume_m3, other);
	}

	#take(volume_m3: number, other: PlugLine | null): void {
		let left = volume_m3;
		let excess = 0;
		let bentonite = 0;
		while (left > 0) {
			if (this.#count === 0) throw new RangeError('the pipe does not hold the volume taken out');
			const at = this.#head * 4;
			const v = this.#volume[this.#head]!;
			const c0 = this.#excess[at]!;
			const c1 = this.#excess[at + 1]!;
			const b0 = this.#excess[at + 2]!;
			const b1 = this.#excess[at + 3]!;
			if (v <= left) {
				excess += (v * (c0 + c1)) / 2;
				bentonite += (v * (b0 + b1)) / 2;
				other?.push(v, c0, c1, b0, b1);
				left -= v;
				this.#head = (this.#head + 1) & this.#mask;
				this.#count--;
				continue;
			}
			const part = left / v;
			const cCut = c0 + (c1 - c0) * part;
			const bCut = b0 + (b1 - b0) * part;
			excess += (left * (c0 + cCut)) / 2;
			bentonite += (left * (b0 + bCut)) / 2;
			other?.push(left, c0, cCut, b0, bCut);
			this.#volume[this.#head] = v - left;
			this.#excess[at] = cCut;
			this.#excess[at + 2] = bCut;
			left = 0;
		}
		this.poppedExcess_kg = excess;
		this.poppedBentonite_kg = bentonite;
	}

	#put(slot: number, v: number, c0: number, c1: number, b0: number, b1: number): void {
		this.#volume[slot] = v;
		const at = slot * 4;
		this.#excess[at] = c0;
		this.#excess[at + 1] = c1;
		this.#excess[at + 2] = b0;
		this.#excess[at + 3] = b1;
	}

	#grow(): void {
		const room = (this.#mask + 1) * 2;
		const volume = new Float64Array(room);
		const excess = new Float64Array(room * 4);
		for (let i = 0; i < this.#count; i++) {
			const slot = (this.#head + i) & this.#mask;
			volume[i] = this.#volume[slot]!;
			for (let k = 0; k < 4; k++) excess[i * 4 + k] = this.#excess[slot * 4 + k]!;
		}
		this.#volume = volume;
		this.#excess = excess;
		this.#mask = room - 1;
		this.#head = 0;
	}
}
