import { LoaderCircle } from 'lucide-react';

/** How far a longer piece of work has come. `of` null: it cannot be told. */
export function Progress({
	label,
	done,
	of,
}: {
	readonly label: string;
	readonly done: number;
	readonly of: number | null;
}) {
	const share = of !== null && of > 0 ? Math.min(1, done / of) : null;
	return (
		<div className="progress">
			<span>{share === null ? label : `${label}, ${Math.round(share * 100)} %`}</span>
			<div
				className="progress-track"
				role="progressbar"
				aria-label={label}
				aria-valuemin={0}
				aria-valuemax={100}
				aria-valuenow={share === null ? undefined : Math.round(share * 100)}
			>
				{share === null ? (
					<div className="progress-bar" data-unknown="" />
				) : (
					<div className="progress-bar" style={{ width: `${share * 100}%` }} />
				)}
			</div>
		</div>
	);
}

/** A short wait. */
export function Spinner({ label }: { readonly label: string }) {
	return (
		<span role="status" style={{ display: 'inline-flex', alignItems: 'center', gap: 8 }}>
			<LoaderCircle size={16} className="spinner" aria-hidden />
			{label}
		</span>
	);
}
