import { useId, useState } from 'react';
import { keep, kept } from '../look/kept.ts';
import { BypassChecks } from '../panels/meterchecks/BypassChecks.tsx';
import { Tabs } from '../parts/Tabs.tsx';
import { CertificatesSheet } from '../sheets/CertificatesSheet.tsx';

const VIEWS = [
	{ id: 'certificates', title: 'Certificates' },
	{ id: 'bypass', title: 'Bypass checks' },
] as const;
type View = (typeof VIEWS)[number]['id'];
const KEY = 'meters.view';

/** The meters: what their papers say, and what they say of each other when the loop is in bypass. */
export function Meters() {
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
				{view === 'bypass' ? <BypassChecks /> : <CertificatesSheet />}
			</div>
		</div>
	);
}
