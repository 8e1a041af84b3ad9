import type { Ask } from '../../electron/contract/verbs.ts';

export type PlacePurpose = Ask<'places.choose'>['purpose'];

/** To open: the thing itself. To save: the folder it goes into, and the name it gets. */
export interface ChosenPlace {
	readonly placeId: string;
	readonly title: string;
}
