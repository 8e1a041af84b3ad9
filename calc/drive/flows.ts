/** Flows at one grid point, m³/s; `growth` in m/s of each line, `rate` in m/s of the level. */
export interface Flows {
	feed: number;
	back: number;
	side: number;
	/** Ground cut, and ground entering with over-excavation. */
	cut: number;
	ground: number;
	inflow: number;
	loss: number;
	rate: number;
	growth: number;
	speed: number;
	feedExcess: number;
	feedBentonite: number;
	backExcess: number;
}

/** Nothing moves. */
export const noFlows = (): Flows => ({
	feed: 0,
	back: 0,
	side: 0,
	cut: 0,
	ground: 0,
	inflow: 0,
	loss: 0,
	rate: 0,
	growth: 0,
	speed: 0,
	feedExcess: 0,
	feedBentonite: 0,
	backExcess: 0,
});
