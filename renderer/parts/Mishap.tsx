import { RotateCw, TriangleAlert } from 'lucide-react';
import { Component, type ReactNode } from 'react';
import { Button } from './Button.tsx';
import { EmptyState } from './EmptyState.tsx';

interface MishapProps {
	/** What is shown as long as nothing goes wrong. */
	readonly children: ReactNode;
	/** What the part is called in the message, with its article. */
	readonly part: string;
	/** What the part is about; when that changes it is tried again. */
	readonly about?: string;
}

/**
 * Keeps a mistake of one part of the page from taking the whole page with it: in its place stands what
 * happened and a way to show the part again. What was confirmed is in the file whatever the page does.
 */
export class Mishap extends Component<MishapProps, { readonly message: string | null }> {
	override state: { readonly message: string | null } = { message: null };

	static getDerivedStateFromError(error: unknown): { readonly message: string } {
		return { message: error instanceof Error ? error.message : String(error) };
	}

	override componentDidUpdate(before: MishapProps): void {
		if (before.about !== this.props.about && this.state.message !== null)
			this.setState({ message: null });
	}

	override render(): ReactNode {
		const { message } = this.state;
		if (message === null) return this.props.children;
		return (
			<EmptyState
				icon={TriangleAlert}
				title={`${this.props.part} cannot be shown`}
				actions={
					<Button icon={RotateCw} onClick={() => this.setState({ message: null })}>
						Show it again
					</Button>
				}
			>
				This is a mistake of the program, not of the data. Every confirmed edit is stored. It says:{' '}
				{message}
			</EmptyState>
		);
	}
}
