import '@fontsource-variable/ibm-plex-sans';
import '../../../renderer/look/tokens.css';
import '../../../renderer/parts/parts.css';
import type { ReactNode } from 'react';
import { createRoot } from 'react-dom/client';
import { Timeline } from '../../../renderer/charts/Timeline.tsx';
import { afterPaint } from '../../../renderer/desk/afterpaint.ts';
import { DeskProvider } from '../../../renderer/desk/desk.tsx';
import { DeskStore } from '../../../renderer/desk/store.ts';
import { CheckResult } from '../../../renderer/panels/CheckResult.tsx';
import { DriveForm } from '../../../renderer/panels/DriveForm.tsx';
import { ExportFolder } from '../../../renderer/panels/ExportFolder.tsx';
import { FolderImport } from '../../../renderer/panels/FolderImport.tsx';
import { HowComputed } from '../../../renderer/panels/HowComputed.tsx';
import { LoggerImport } from '../../../renderer/panels/loggerimport/LoggerImport.tsx';
import { BypassChecks } from '../../../renderer/panels/meterchecks/BypassChecks.tsx';
import { NewDrive } from '../../../renderer/panels/NewDrive.tsx';
import { OpenProject } from '../../../renderer/panels/OpenProject.tsx';
import { RingDetail } from '../../../renderer/panels/RingDetail.tsx';
import { SaveCopy } from '../../../renderer/panels/SaveCopy.tsx';
import { StartScreen } from '../../../renderer/panels/StartScreen.tsx';
import { ToastShelf } from '../../../renderer/parts/Toast.tsx';
import { type Making, madeDoor } from './madedoor.ts';

/** Shows one component over a made-up desk: `?show=NAME&theme=night&…`. Stands only in the tests. */
const asked = new URLSearchParams(location.search);
document.documentElement.dataset.theme = asked.get('theme') ?? 'day';
const making: Making = {
	readOnly: asked.has('readOnly'),
	open: asked.get('show') !== 'start',
	recents: Number(asked.get('recents') ?? 3),
	fails: asked.get('fails'),
	slow: asked.get('slow'),
	level: !asked.has('noLevel'),
	silence: !asked.has('noSilence'),
	byHand: asked.has('byHand'),
	nothing: asked.has('nothing'),
	impossible: asked.has('impossible'),
	clean: asked.has('clean'),
	native: asked.has('native'),
	windows: Number(asked.get('windows') ?? 30),
	faulty: asked.has('faulty'),
	conflicts: asked.has('conflicts'),
	kept: asked.has('kept'),
	unfinished: asked.has('unfinished')
		? asked.get('unfinished') === 'gone'
			? 'gone'
			: 'there'
		: '',
};
const door = madeDoor(making);
const store = new DeskStore(door, afterPaint);
Object.assign(window, { calls: door.calls });

const close = () => {
	document.body.dataset.closed = 'yes';
	root.render(<div id="closed">closed</div>);
};
const dock = (inside: ReactNode) => (
	<div style={{ width: 400, height: '100vh', borderRight: '1px solid var(--line)' }}>{inside}</div>
);
const VIEWS: Readonly<Record<string, () => ReactNode>> = {
	start: () => <StartScreen />,
	timeline: () => (
		<div style={{ height: Number(asked.get('height') ?? 340), marginTop: 40 }}>
			<Timeline
				ring={asked.has('noRing') ? null : 42}
				onImport={() => Object.assign(document.body.dataset, { asked: 'import' })}
			/>
		</div>
	),
	detail: () => dock(<RingDetail ring={asked.has('noRing') ? null : 42} />),
	how: () =>
		dock(<HowComputed cell={{ sheet: 'ledger', row: 42, column: 'volume_apparent_m3' }} />),
	checks: () => <BypassChecks />,
	drive: () => (
		<div style={{ height: '100vh' }}>
			<DriveForm />
		</div>
	),
	import: () => <FolderImport onClose={close} />,
	logger: () => <LoggerImport onClose={close} />,
	open: () => <OpenProject onClose={close} />,
	new: () => <NewDrive onClose={close} />,
	copy: () => <SaveCopy onClose={close} />,
	export: () => <ExportFolder onClose={close} />,
	check: () => <CheckResult onClose={close} />,
};

const root = createRoot(document.getElementById('root') as HTMLElement);
await store.readAnew();
root.render(
	<DeskProvider store={store}>
		<div style={{ height: '100vh' }}>{VIEWS[asked.get('show') ?? '']?.() ?? 'no such view'}</div>
		<ToastShelf />
	</DeskProvider>,
);
