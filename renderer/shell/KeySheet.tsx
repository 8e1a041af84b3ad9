import { Fragment } from 'react';
import { Dialog } from '../parts/Dialog.tsx';
import { KEY_SHEET } from './keys.ts';

/** All keys of the program. */
export function KeySheet({ onClose }: { readonly onClose: () => void }) {
	return (
		<Dialog title="Keys" onClose={onClose} width={560}>
			{KEY_SHEET.map(({ group, keys }) => (
				<section key={group}>
					<h3>{group}</h3>
					<dl className="key-list">
						{keys.map(([press, does]) => (
							<Fragment key={press}>
								<dt>
									<kbd>{press}</kbd>
								</dt>
								<dd>{does}</dd>
							</Fragment>
						))}
					</dl>
				</section>
			))}
			<p className="key-note">On a Mac, Cmd stands for Ctrl and Option for Alt.</p>
		</Dialog>
	);
}
