import { ChartLine, PanelRight } from 'lucide-react';
import { useCallback, useEffect, useState } from 'react';
import type { SheetId } from '../../calc/sheet/column.ts';
import { Timeline } from '../charts/Timeline.tsx';
import { useDeskStore, useDeskValue, useSelect } from '../desk/desk.tsx';
import { keep, kept } from '../look/kept.ts';
import { DriveForm } from '../panels/DriveForm.tsx';
import { type ComputedCell, HowComputed } from '../panels/HowComputed.tsx';
import { RingDetail } from '../panels/RingDetail.tsx';
import { IconButton } from '../parts/IconButton.tsx';
import { Mishap } from '../parts/Mishap.tsx';
import { GroundSheet } from '../sheets/GroundSheet.tsx';
import { LedgerSheet } from '../sheets/LedgerSheet.tsx';
import { ModesSheet } from '../sheets/ModesSheet.tsx';
import { ReadingsSheet } from '../sheets/ReadingsSheet.tsx';
import { RingsSheet } from '../sheets/RingsSheet.tsx';
import { Meters } from './Meters.tsx';
import { SheetRail } from './SheetRail.tsx';
import { Splitter } from './Splitter.tsx';
import { SHEET_LIST } from './sheetlist.ts';

const keptSize = (key: string, otherwise: number): number => {
	const text = kept(key);
	const size = text === null ? Number.NaN : Number(text);
	return Number.isFinite(size) && size >= 0 ? size : otherwise;
};

/** One of the two parts around the sheet: its size, and whether it is shown at all. */
function useSide(key: string, otherwise: number) {
	const [size, setSize] = useState(() => keptSize(`${key}.size`, otherwise));
	const [shown, setShown] = useState(() => kept(`${key}.shown`) !== 'no');
	return {
		size,
		shown,
		setSize: (to: number) => {
			setSize(to);
			keep(`${key}.size`, String(to));
		},
		toggle: () => {
			keep(`${key}.shown`, shown ? 'no' : 'yes');
			setShown(!shown);
		},
		show: () => setShown(true),
	};
}

/** The sheet on screen with the ring's timeline below and its detail at the right. */
export function Workbench({ onImportLogger }: { readonly onImportLogger: () => void }) {
	const store = useDeskStore();
	const select = useSelect();
	// Not the whole selection: moving along a row must not render all this again.
	const sheet = useDeskValue((view) => view.selection.sheet);
	const ring = useDeskValue((view) => view.selection.ring);
	const ledgerVersion = useDeskValue((view) => view.sheets.ledger.version);
	const dock = useSide('dock', 352);
	const chart = useSide('chart', 232);
	const [asked, setAsked] = useState<ComputedCell | null>(null);
	const byRing = SHEET_LIST.find((entry) => entry.sheet === sheet)?.byRing ?? false;

	// biome-ignore lint/correctness/useExhaustiveDependencies: the version says when the ledger's rows are there
	useEffect(() => {
		if (ring !== null) return;
		for (const row of store.rowsOf('ledger').values()) {
			if (typeof row.cells.ring !== 'number') continue;
			select({ ring: row.cells.ring });
			return;
		}
	}, [store, select, ring, ledgerVersion]);

	// biome-ignore lint/correctness/useExhaustiveDependencies: another ring or sheet puts the question away
	useEffect(() => setAsked(null), [sheet, ring]);

	const choose = useCallback(
		(next: SheetId) => select({ sheet: next, row: null, column: null }),
		[select],
	);
	const showDock = dock.show;
	const how = (row: number, column: string) => {
		if (sheet !== 'ledger' && sheet !== 'readings') return;
		showDock();
		setAsked({ sheet, row, column });
	};

	return (
		<div className="workbench">
			<SheetRail active={sheet} onChoose={choose} />
			<main className="workbench-centre">
				<div className="workbench-sheet">
					<Mishap about={sheet} part="This sheet">
						{sheet === 'ledger' && <LedgerSheet onHow={how} />}
						{sheet === 'readings' && <ReadingsSheet onHow={how} onImport={onImportLogger} />}
						{sheet === 'rings' && <RingsSheet />}
						{sheet === 'ground' && <GroundSheet />}
						{sheet === 'meters' && <Meters />}
						{sheet === 'drive' && <DriveForm />}
						{sheet === 'mode_overrides' && <ModesSheet />}
					</Mishap>
				</div>
				{byRing && chart.shown && (
					<>
						<Splitter
							label="Height of the timeline"
							between="row"
							size={chart.size}
							least={160}
							most={Math.max(200, Math.round(window.innerHeight * 0.55))}
							onSize={chart.setSize}
						/>
						<section
							className="workbench-chart"
							style={{ height: chart.size }}
							aria-label="Timeline of the ring"
						>
							<Mishap about={String(ring)} part="The timeline">
								<Timeline ring={ring} onImport={onImportLogger} />
							</Mishap>
						</section>
					</>
				)}
			</main>
			{byRing && dock.shown && (
				<>
					<Splitter
						label="Width of the ring detail"
						between="column"
						size={dock.size}
						least={280}
						most={Math.max(300, Math.round(window.innerWidth * 0.5))}
						onSize={dock.setSize}
					/>
					<aside
						className="workbench-dock"
						style={{ width: dock.size }}
						aria-label="Detail of the ring"
					>
						<Mishap about={`${ring} ${asked?.column}`} part="The detail of the ring">
							{asked ? (
								<HowComputed cell={asked} onClose={() => setAsked(null)} />
							) : (
								<RingDetail ring={ring} />
							)}
						</Mishap>
					</aside>
				</>
			)}
			{byRing && (
				<div className="workbench-switches">
					<IconButton
						label="Timeline"
						hint={chart.shown ? 'Put the timeline away' : 'Show the timeline'}
						icon={ChartLine}
						pressed={chart.shown}
						onClick={chart.toggle}
					/>
					<IconButton
						label="Ring detail"
						hint={dock.shown ? 'Put the ring detail away' : 'Show the ring detail'}
						icon={PanelRight}
						pressed={dock.shown}
						onClick={dock.toggle}
					/>
				</div>
			)}
		</div>
	);
}
