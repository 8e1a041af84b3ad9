import { Button } from '../parts/Button.tsx';

/** The ways an ambiguous number can be read, to choose from. Nothing is taken before one is chosen. */
export function ReadAs({
	readAs,
	onChoose,
}: {
	readonly readAs: readonly { readonly label: string; readonly text: string }[];
	readonly onChoose: (text: string) => void;
}) {
	return (
		// biome-ignore lint/a11y/useSemanticElements: a fieldset would bring a frame and a legend of its own
		<div className="read-as" role="group" aria-label="How it can be read">
			<span className="soft">Read it as</span>
			{readAs.map((reading) => (
				<Button key={reading.text} onClick={() => onChoose(reading.text)}>
					{reading.label}
				</Button>
			))}
		</div>
	);
}
