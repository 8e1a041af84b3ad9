import { Layers3 } from 'lucide-react';
import { newGroundShare } from './newrow.ts';
import { SheetPage } from './SheetPage.tsx';

const PINNED = ['from_ring', 'to_ring', 'stratum'] as const;

/** Strata in the face by range of rings, with the densities the expected solids rest on. */
export function GroundSheet() {
	return (
		<SheetPage
			sheet="ground"
			title="Ground in the face"
			one="share"
			many="shares"
			pinned={PINNED}
			sortedBy="from_ring"
			begin={newGroundShare}
			empty={{
				icon: Layers3,
				title: 'No ground entered yet',
				text: 'For each range of rings, enter the strata in the face with their share of it, grain density and dry density. Without it the ledger has no expected dry solids.',
			}}
		/>
	);
}
