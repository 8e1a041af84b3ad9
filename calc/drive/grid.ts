/**
 * The truth of one ring's cycle on a 1 s grid, SI. Every flow runs linearly between two grid points:
 * the grid joined by straight lines is the true signal, and trapezoids over it are exact.
 */
export class CycleGrid {
	/** Unix time of the first grid point; grid point i lies i seconds later. */
	start_s = 0;
	count = 0;
	/** Index into MODES, from this grid point until the next. */
	mode = new Uint8Array(8192);
	feedFlow_m3_s = new Float64Array(8192);
	returnFlow_m3_s = new Float64Array(8192);
	sideFlow_m3_s = new Float64Array(8192);
	/** Density above the water's at the two densitometers, kg/m³. */
	feedExcess_kg_m3 = new Float64Array(8192);
	returnExcess_kg_m3 = new Float64Array(8192);
	level_m = new Float64Array(8192);

	/** Makes room for so many grid points. */
	reserve(count: number): void {
		if (count <= this.mode.length) return;
		const room = Math.max(count, this.mode.length * 2);
		const longer = (column: Float64Array): Float64Array<ArrayBuffer> => {
			const out = new Float64Array(room);
			out.set(column);
			return out;
		};
		const mode = new Uint8Array(room);
		mode.set(this.mode);
		this.mode = mode;
		this.feedFlow_m3_s = longer(this.feedFlow_m3_s);
		this.returnFlow_m3_s = longer(this.returnFlow_m3_s);
		this.sideFlow_m3_s = longer(this.sideFlow_m3_s);
		this.feedExcess_kg_m3 = longer(this.feedExcess_kg_m3);
		this.returnExcess_kg_m3 = longer(this.returnExcess_kg_m3);
		this.level_m = longer(this.level_m);
	}
}
