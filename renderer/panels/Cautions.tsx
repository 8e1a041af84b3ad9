import { CAUTIONS } from './cautions.ts';

/** The standing cautions as one quiet paragraph. */
export function Cautions() {
	return <p className="cautions">{CAUTIONS.join(' ')}</p>;
}
