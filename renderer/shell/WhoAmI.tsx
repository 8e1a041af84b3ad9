import { UserRound } from 'lucide-react';
import { type FormEvent, useState } from 'react';
import { useCallDesk, useDeskValue } from '../desk/desk.tsx';
import { Button } from '../parts/Button.tsx';
import { Dialog } from '../parts/Dialog.tsx';
import { TextField } from '../parts/Field.tsx';

/** Who edits: the name that goes into the journal with every step. */
export function WhoAmI() {
	const person = useDeskValue((view) => view.state?.person ?? '');
	const callDesk = useCallDesk();
	const [open, setOpen] = useState(false);
	const [name, setName] = useState('');
	const [fault, setFault] = useState<string | null>(null);
	const [busy, setBusy] = useState(false);

	const save = async (event: FormEvent) => {
		event.preventDefault();
		if (name.trim() === '') {
			setFault('The journal needs a name or initials.');
			return;
		}
		setBusy(true);
		const reply = await callDesk('person.set', { person: name.trim() });
		setBusy(false);
		if (reply.ok) setOpen(false);
		else setFault(reply.message);
	};

	return (
		<>
			<button
				type="button"
				className="frame-button"
				title="Who edits: this name goes into the journal"
				onClick={() => {
					setName(person);
					setFault(null);
					setOpen(true);
				}}
			>
				<UserRound size={16} aria-hidden />
				<span className="frame-button-text">{person || 'Who are you?'}</span>
			</button>
			{open && (
				<Dialog title="Who edits" onClose={() => setOpen(false)} width={420}>
					<form className="one-field-form" onSubmit={save}>
						<TextField
							label="Your name or initials"
							value={name}
							onChange={(text) => {
								setName(text);
								setFault(null);
							}}
							fault={fault}
							maxLength={80}
							help="Written into the journal beside every edit from now on. Earlier entries keep their name."
							autoFocus
						/>
						<div className="one-field-form-foot">
							<Button onClick={() => setOpen(false)}>Cancel</Button>
							<Button tone="primary" submit busy={busy}>
								Use this name
							</Button>
						</div>
					</form>
				</Dialog>
			)}
		</>
	);
}
