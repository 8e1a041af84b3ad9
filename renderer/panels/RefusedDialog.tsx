import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { Notice } from '../parts/Notice.tsx';

/** What was asked for could not be done; something else can be chosen for it. */
export function RefusedDialog({
	title,
	heading,
	message,
	again,
	onAgain,
	onClose,
}: {
	readonly title: string;
	/** Above the message, where the title names the errand and not the trouble. */
	readonly heading?: string;
	readonly message: string | null;
	/** Says what else can be chosen. */
	readonly again: string;
	readonly onAgain: () => void;
	readonly onClose: () => void;
}) {
	return (
		<Dialog
			title={title}
			onClose={onClose}
			footer={
				<>
					<Button onClick={onClose}>Cancel</Button>
					<Button tone="primary" onClick={onAgain}>
						{again}
					</Button>
				</>
			}
		>
			<Notice status="stop" {...(heading === undefined ? {} : { title: heading })}>
				{message}
			</Notice>
		</Dialog>
	);
}
