import './panels.css';
import { FileX2, FolderInput, FolderOpen, Play, SquarePlus } from 'lucide-react';
import { useEffect, useState } from 'react';
import { dateTime } from '../../calc/quantity/time.ts';
import type { Answer } from '../../electron/contract/verbs.ts';
import { useCallDesk, useDeskValue } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { Notice } from '../parts/Notice.tsx';
import { Spinner } from '../parts/Progress.tsx';
import { Cautions } from './Cautions.tsx';
import { DeskProgress } from './DeskProgress.tsx';
import { FolderImport } from './FolderImport.tsx';
import { NewDrive } from './NewDrive.tsx';
import { OpenProject } from './OpenProject.tsx';

type Recent = Answer<'recent.list'>;
type Work = { readonly what: string } | null;

/** What is shown while no project is open: the demo drive, recent projects, and the ways to begin. */
export function StartScreen() {
	const callDesk = useCallDesk();
	const asked = useDeskValue((view) => view.state !== null);
	const [recent, setRecent] = useState<Recent | null>(null);
	const [dialog, setDialog] = useState<'open' | 'folder' | 'new' | null>(null);
	const [work, setWork] = useState<Work>(null);
	const [trouble, setTrouble] = useState<string | null>(null);

	useEffect(() => {
		let wanted = true;
		void callDesk('recent.list', {}).then((reply) => {
			if (wanted) setRecent(reply.ok ? reply.value : []);
		});
		return () => {
			wanted = false;
		};
	}, [callDesk]);

	const openDemo = async () => {
		setTrouble(null);
		setWork({ what: 'Opening the demo drive' });
		const reply = await callDesk('project.openDemo', {});
		setWork(null);
		if (!reply.ok) setTrouble(reply.message);
	};
	const openRecent = async (project: Recent[number]) => {
		setTrouble(null);
		setWork({ what: `Opening ${project.title}` });
		const reply = await callDesk('project.open', { placeId: project.placeId });
		setWork(null);
		if (!reply.ok) setTrouble(reply.message);
	};
	const busy = work !== null || !asked;
	const close = () => setDialog(null);

	return (
		<main className="start">
			<div className="start-main">
				<h2 className="start-title">The slurry circuit, ring by ring</h2>
				<p className="start-lead">
					How much ground left with the suspension, how much should have left, and how far the
					meters can be trusted with it. One project is one drive in one file.
				</p>
				{trouble !== null && (
					<Notice status="stop" title="It was not opened">
						{trouble}
					</Notice>
				)}
				{work !== null ? (
					<DeskProgress label={work.what} />
				) : (
					<div className="start-ways">
						<Button
							tone="primary"
							icon={Play}
							className="start-demo"
							disabled={busy}
							onClick={() => void openDemo()}
						>
							Open the demo drive
						</Button>
						<p className="soft">An invented drive in an invented town, to try everything on.</p>
						<div className="start-row">
							<Button icon={FolderOpen} disabled={busy} onClick={() => setDialog('open')}>
								Open a project…
							</Button>
							<Button icon={FolderInput} disabled={busy} onClick={() => setDialog('folder')}>
								New from a plain folder…
							</Button>
							<Button icon={SquarePlus} disabled={busy} onClick={() => setDialog('new')}>
								New empty drive…
							</Button>
						</div>
					</div>
				)}
			</div>
			<section className="start-recent" aria-labelledby="recent-title">
				<h2 id="recent-title">Recent projects</h2>
				{recent === null && <Spinner label="Looking…" />}
				{recent?.length === 0 && (
					<p className="soft">None yet. Projects opened or made here will be listed.</p>
				)}
				{recent !== null && recent.length > 0 && (
					<ul>
						{recent.map((project) => (
							<li key={project.placeId}>
								{project.exists ? (
									<button
										type="button"
										className="recent"
										disabled={busy}
										onClick={() => void openRecent(project)}
									>
										<span className="recent-title">{project.title}</span>
										<span className="soft recent-folder" title={project.folder}>
											{project.folder}
										</span>
										<span className="soft">opened {openedText(project.opened_s)}</span>
									</button>
								) : (
									<div className="recent" data-missing="">
										<span className="recent-title">{project.title}</span>
										<span className="recent-gone">
											<FileX2 size={14} aria-hidden /> no longer there
										</span>
										<span className="soft recent-folder" title={project.folder}>
											{project.folder}
										</span>
									</div>
								)}
							</li>
						))}
					</ul>
				)}
			</section>
			<div className="start-cautions">
				<Cautions />
			</div>
			{dialog === 'open' && <OpenProject onClose={close} />}
			{dialog === 'folder' && <FolderImport onClose={close} />}
			{dialog === 'new' && <NewDrive onClose={close} />}
		</main>
	);
}

/** The person's own clock: when they opened it, wherever the drive is. */
function openedText(time_s: number): string {
	const minute = Math.floor(time_s / 60) * 60;
	return dateTime(minute, -new Date(minute * 1000).getTimezoneOffset());
}
