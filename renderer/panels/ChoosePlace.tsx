import { useEffect, useRef, useState } from 'react';
import { useCallDesk, useDeskValue } from '../desk/desk.tsx';
import { tell } from '../parts/Toast.tsx';
import { PlaceChooser, type PlaceChooserProps } from './PlaceChooser.tsx';

/** Asks for a place in the way the host has: the system's dialog, else our own. */
export function ChoosePlace(props: PlaceChooserProps) {
	const native = useDeskValue((view) => view.state?.nativeDialogs ?? false);
	return native ? <SystemDialog {...props} /> : <PlaceChooser {...props} />;
}

function SystemDialog({ purpose, suggest, onChoose, onClose }: PlaceChooserProps) {
	const callDesk = useCallDesk();
	const asked = useRef(false);
	const [refused, setRefused] = useState(false);
	const answer = useRef({ onChoose, onClose });
	answer.current = { onChoose, onClose };
	useEffect(() => {
		// Strict mode runs effects twice; the system's dialog may open only once.
		if (asked.current) return;
		asked.current = true;
		void callDesk('places.choose', { purpose, ...(suggest ? { suggest } : {}) }).then((reply) => {
			if (!reply.ok) {
				tell('note', reply.message);
				setRefused(true);
			} else if (reply.value === null) answer.current.onClose();
			else answer.current.onChoose(reply.value);
		});
	}, [callDesk, purpose, suggest]);
	if (!refused) return null;
	return (
		<PlaceChooser
			purpose={purpose}
			{...(suggest ? { suggest } : {})}
			onChoose={onChoose}
			onClose={onClose}
		/>
	);
}
