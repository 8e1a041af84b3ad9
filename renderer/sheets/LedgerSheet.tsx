import { BookOpenText } from 'lucide-react';
import { useSelect } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { SheetPage } from './SheetPage.tsx';

const PINNED = ['ring'] as const;

/** The balance ring by ring: all computed, each figure open to "how?". */
export function LedgerSheet({ onHow }: { readonly onHow: (row: number, column: string) => void }) {
	const select = useSelect();
	return (
		<SheetPage
			sheet="ledger"
			title="Ring ledger"
			one="ring"
			many="rings"
			pinned={PINNED}
			sortedBy="ring"
			empty={{
				icon: BookOpenText,
				title: 'No rings to balance yet',
				text: 'A ring appears here as soon as its advance and strokes are entered in the Rings sheet; its figures follow from the readings taken meanwhile.',
			}}
			emptyActions={
				<Button onClick={() => select({ sheet: 'rings', row: null, column: null })}>
					Go to Rings
				</Button>
			}
			onHow={onHow}
		/>
	);
}
