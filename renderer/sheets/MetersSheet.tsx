import { ClipboardCheck } from 'lucide-react';
import { useId, useState } from 'react';
import { BypassChecks } from '../panels/meterchecks/BypassChecks.tsx';
import { Tabs } from '../parts/Tabs.tsx';
import { keep, kept } from '../shell/kept.ts';
import { SheetPage } from './SheetPage.tsx';

const PINNED = ['meter', 'valid_from'] as const;
const nothing = () => ({});

const VIEWS = [
	{ id: 'certificates', title: 'Certificates' },
	{ id: 'bypass', title: 'Bypass checks' },
] as const;
type View = (typeof VIEWS)[number]['id'];
const KEY = 'meters.view';

/** The meters: what their papers say, and what they say of each other when the loop is in bypass. */
export function MetersSheet() {
	const panelId = useId();
	const [view, setView] = useState<View>(() =>
		kept(KEY) === 'bypass' ? 'bypass' : 'certificates',
	);
	const choose = (next: View) => {
		keep(KEY, next);
		setView(next);
	};
	return (
		<div className="meters">
			<Tabs label="Meters" tabs={VIEWS} active={view} onChoose={choose} panelId={panelId} />
			<div className="meters-view" id={panelId} role="tabpanel">
				{view === 'bypass' ? <BypassChecks /> : <Certificates />}
			</div>
		</div>
	);
}

/** Certificates of the four meters: what each reading is corrected by, and from when. */
function Certificates() {
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
