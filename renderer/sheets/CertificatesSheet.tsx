import { ClipboardCheck } from 'lucide-react';
import { SheetPage } from './SheetPage.tsx';

const PINNED = ['meter', 'valid_from'] as const;
const nothing = () => ({});

/** Certificates of the four meters: what each reading is corrected by, and from when. */
export function CertificatesSheet() {
	return (
		<SheetPage
			sheet="meters"
			title="Meter certificates"
			one="certificate"
			many="certificates"
			pinned={PINNED}
			sortedBy="valid_from"
			begin={nothing}
			empty={{
				icon: ClipboardCheck,
				title: 'No certificates: readings are taken as they stand',
				text: 'Enter slope and offset of a meter and the time from which they hold. Readings before the first certificate of a meter stay uncorrected.',
			}}
		/>
	);
}
