import { SMALL_GROUP } from './figure.js';
import type { CutBy } from './scope.js';

export type Group = { readonly key: string; readonly name: string; readonly of: number };

/**
 * Months newest first, first visits before later ones; the others ranked by `rank`, highest first, and the groups too
 * small to be ranked after them by name. The order of the input does not matter.
 */
export function inOrder<G extends Group>(by: CutBy, groups: readonly G[], rank: (group: G) => number): G[] {
  if (by === 'month') return [...groups].sort((a, b) => b.key.localeCompare(a.key));
  if (by === 'first-time') return [...groups].sort((a, b) => a.key.localeCompare(b.key));
  const isSmall = ({ of }: G) => of < SMALL_GROUP;
  const byName = (a: G, b: G) => a.name.localeCompare(b.name) || a.key.localeCompare(b.key);
  const ranked = groups.filter((group) => !isSmall(group)).sort((a, b) => rank(b) - rank(a) || byName(a, b));
  return [...ranked, ...groups.filter(isSmall).sort(byName)];
}
