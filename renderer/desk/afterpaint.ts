/** Where frames are held back, as in a window that is covered, nothing waits longer than this. */
const LONGEST_WAIT_MS = 100;

/**
 * Runs once the next frame is on screen; where none is painted, soon all the same. What is `urgent`
 * goes before the rest.
 */
export function afterPaint(run: () => void, urgent = false): void {
	if (document.visibilityState === 'hidden') {
		setTimeout(run);
		return;
	}
	let over = false;
	const once = () => {
		if (over) return;
		over = true;
		clearTimeout(timer);
		run();
	};
	const timer = setTimeout(once, LONGEST_WAIT_MS);
	requestAnimationFrame(() => {
		if (urgent) nextTask(once);
		else setTimeout(once);
	});
}

/** A message goes before timers. */
function nextTask(run: () => void): void {
	const channel = new MessageChannel();
	channel.port1.onmessage = run;
	channel.port2.postMessage(null);
}
