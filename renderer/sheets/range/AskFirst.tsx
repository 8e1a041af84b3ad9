import { Button } from '../../parts/Button.tsx';
import { Dialog } from '../../parts/Dialog.tsx';
import type { Question } from './hands.ts';

/** Asks before something is done that reaches farther than one sees. */
export function AskFirst({
	question,
	onClose,
}: {
	readonly question: Question;
	readonly onClose: () => void;
}) {
	const { title, text, yes, danger, other, onYes } = question;
	const answer = (run: () => void) => () => {
		onClose();
		run();
	};
	return (
		<Dialog
			title={title}
			onClose={onClose}
			footer={
				<>
					<Button onClick={onClose}>Leave all as it is</Button>
					{other && <Button onClick={answer(other.run)}>{other.label}</Button>}
					<Button tone={danger ? 'danger' : 'primary'} onClick={answer(onYes)}>
						{yes}
					</Button>
				</>
			}
		>
			<p>{text}</p>
		</Dialog>
	);
}
