import { formatNumber } from '../../calc/quantity/format.ts';

/** Share of variance in percent: small shares are said to be small, never shown as 0 %. */
export function shareText(sharePct: number, decimal: '.' | ','): string {
	if (sharePct > 0 && sharePct < 0.1) return `< ${formatNumber(0.1, 1, { decimal })} %`;
	return `${formatNumber(sharePct, sharePct < 10 ? 1 : 0, { decimal })} %`;
}
