import { fold } from '../base/index.js';
import type { ImportField } from './kinds.js';

/** Column by field: the place of the column in the heading row, from 0. */
export type ColumnMapping = Readonly<Record<string, number>>;

/** How sure a heading is to mean a field: its own words best, then words within longer ones; 0 for not at all. */
function likeness(heading: string, words: readonly string[]): number {
  const exact = words.indexOf(heading);
  if (exact >= 0) return 1000 - exact;
  const padded = ` ${heading} `;
  const within = words.filter((word) => word.length > 3 && padded.includes(` ${word} `));
  return within.length === 0 ? 0 : Math.max(...within.map((word) => word.length));
}

/** Guesses which column stands for which field; a column is given to one field only, the surest pair first. */
export function guessColumns(headings: readonly string[], fields: readonly ImportField[]): ColumnMapping {
  const folded = headings.map(fold);
  const pairs = fields.flatMap((field, order) =>
    folded.map((heading, column) => ({
      key: field.key,
      order,
      column,
      score: heading === '' ? 0 : likeness(heading, field.words),
    })),
  );
  pairs.sort((one, other) => other.score - one.score || one.order - other.order || one.column - other.column);
  const mapping: Record<string, number> = {};
  const taken = new Set<number>();
  for (const { key, column, score } of pairs) {
    if (score === 0 || key in mapping || taken.has(column)) continue;
    mapping[key] = column;
    taken.add(column);
  }
  return mapping;
}
