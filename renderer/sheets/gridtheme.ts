import { themeQuartz } from 'ag-grid-community';

/** The grid dressed in our own tokens: day and night follow by themselves, since the values are variables. */
export const gridTheme = themeQuartz.withParams({
	accentColor: 'var(--accent)',
	backgroundColor: 'var(--surface)',
	foregroundColor: 'var(--ink)',
	textColor: 'var(--ink)',
	subtleTextColor: 'var(--ink-soft)',
	dataBackgroundColor: 'var(--surface)',
	oddRowBackgroundColor: 'var(--surface)',
	chromeBackgroundColor: 'var(--sunken)',
	browserColorScheme: 'inherit',

	fontFamily: 'var(--family)',
	fontSize: 14,
	dataFontSize: 14,
	headerFontSize: 13,
	headerFontWeight: 600,
	headerTextColor: 'var(--ink)',
	headerBackgroundColor: 'var(--sunken)',
	headerCellHoverBackgroundColor: 'var(--accent-wash)',
	headerHeight: 46,
	rowHeight: 28,
	spacing: 4,
	cellHorizontalPadding: 9,

	borderColor: 'var(--line)',
	wrapperBorder: false,
	wrapperBorderRadius: 0,
	borderRadius: 3,
	rowBorder: { style: 'solid', width: 1, color: 'var(--line)' },
	columnBorder: {
		style: 'solid',
		width: 1,
		color: 'color-mix(in srgb, var(--line) 55%, transparent)',
	},
	headerRowBorder: { style: 'solid', width: 2, color: 'var(--line-strong)' },
	headerColumnBorder: false,
	headerColumnResizeHandleColor: 'var(--line-strong)',
	headerColumnResizeHandleHeight: '40%',
	pinnedColumnBorder: { style: 'solid', width: 2, color: 'var(--line-strong)' },

	rowHoverColor: 'color-mix(in srgb, var(--accent-wash) 45%, transparent)',
	selectedRowBackgroundColor: 'var(--accent-wash)',
	cellEditingBorder: { style: 'solid', width: 2, color: 'var(--accent)' },
	cellEditingShadow: 'var(--shadow)',
	rangeSelectionBorderColor: 'var(--accent)',
	valueChangeValueHighlightBackgroundColor: 'var(--flash)',
	inputFocusBorder: { style: 'solid', width: 1, color: 'var(--accent)' },
	focusShadow: '0 0 0 2px var(--focus)',

	menuBackgroundColor: 'var(--raised)',
	menuTextColor: 'var(--ink)',
	menuBorder: { style: 'solid', width: 1, color: 'var(--line-strong)' },
	popupShadow: 'var(--shadow)',
	tooltipBackgroundColor: 'var(--raised)',
	tooltipTextColor: 'var(--ink)',
	tooltipBorder: { style: 'solid', width: 1, color: 'var(--line-strong)' },
	iconSize: 14,
	checkboxBorderRadius: 2,
});

/** The nonce the host put into the page for <style> elements of this load; undefined where there is none. */
export function styleNonce(): string | undefined {
	const meta = document.querySelector<HTMLMetaElement>('meta[name="style-nonce"]');
	const nonce = meta?.content;
	return nonce && !nonce.startsWith('__') ? nonce : undefined;
}
