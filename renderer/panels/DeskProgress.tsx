import { useDeskValue } from '../desk/desk.tsx';
import { Progress } from '../parts/Progress.tsx';

/** How far the desk has come with what it was asked, in its own words where it says any. */
export function DeskProgress({ label }: { readonly label: string }) {
	const progress = useDeskValue((view) => view.progress);
	return (
		<div className="desk-progress" role="status">
			<Progress
				label={progress?.what ?? label}
				done={progress?.done ?? 0}
				of={progress?.of ?? null}
			/>
		</div>
	);
}
