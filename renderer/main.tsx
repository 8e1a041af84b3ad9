import '@fontsource-variable/ibm-plex-sans';
import './look/tokens.css';
import './parts/parts.css';
import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import { afterPaint } from './desk/afterpaint.ts';
import { DeskProvider } from './desk/desk.tsx';
import { openDoor } from './desk/door.ts';
import { DeskStore } from './desk/store.ts';
import { Mishap } from './parts/Mishap.tsx';
import { App } from './shell/App.tsx';
import { followTheme } from './shell/theme.ts';

followTheme();
const store = new DeskStore(openDoor(), afterPaint);
void store.readAnew();

const page = document.getElementById('page');
if (!page) throw new Error('index.html has no element for the page');
createRoot(page).render(
	<StrictMode>
		<Mishap part="The page">
			<DeskProvider store={store}>
				<App />
			</DeskProvider>
		</Mishap>
	</StrictMode>,
);
