import type { RingDetail } from '../../electron/contract/verbs.ts';

type Fact = RingDetail['facts'][number];

/** Facts by group, groups and facts in the order they first come. */
export function groupFacts(
	facts: readonly Fact[],
): readonly { readonly group: string; readonly facts: readonly Fact[] }[] {
	const groups = new Map<string, Fact[]>();
	for (const fact of facts) {
		const held = groups.get(fact.group);
		if (held) held.push(fact);
		else groups.set(fact.group, [fact]);
	}
	return Array.from(groups, ([group, members]) => ({ group, facts: members }));
}
