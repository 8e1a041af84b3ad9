import '@fontsource-variable/ibm-plex-sans';
import '../../../renderer/look/tokens.css';
import '../../../renderer/parts/parts.css';
import { createRoot } from 'react-dom/client';
import { afterPaint } from '../../../renderer/desk/afterpaint.ts';
import { DeskProvider } from '../../../renderer/desk/desk.tsx';
import { DeskStore } from '../../../renderer/desk/store.ts';
import { App } from '../../../renderer/shell/App.tsx';
import { chooseTheme, followTheme } from '../../../renderer/shell/theme.ts';
import { SheetDesk } from '../desk/sheetdesk.ts';

/** The whole page over the desk in memory: `?rings=60&each=12&theme=night&…`. Stands only in the tests. */
const asked = new URLSearchParams(location.search);
followTheme();
chooseTheme(asked.get('theme') === 'night' ? 'night' : 'day');
const desk = new SheetDesk({
	rings: Number(asked.get('rings') ?? 60),
	readingsPerRing: Number(asked.get('each') ?? 12),
	readOnly: asked.has('readOnly'),
	open: !asked.has('closed'),
	held: asked.getAll('held'),
	...(asked.has('contract') ? { contract: Number(asked.get('contract')) } : {}),
});
const store = new DeskStore(desk, afterPaint);
Object.assign(window, { made: { desk, store } });
void store.readAnew();
createRoot(document.getElementById('root') as HTMLElement).render(
	<DeskProvider store={store}>
		<App />
	</DeskProvider>,
);
