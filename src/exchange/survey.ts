import { DomainError } from '../base/index.js';
import { type DateOrder, orderEvidence } from './read-date.js';
import type { RecordSource } from './records.js';

/** More rows than this in one file are refused: a salon has fewer clients. */
export const MOST_ROWS = 250_000;

/** What one look through the whole file found out. Holds headings and counts only, no cell of anybody. */
export type Survey = {
  readonly headings: readonly string[];
  readonly rows: number;
  /** By column, what its dates say about the order of day and month; columns without such dates are left out. */
  readonly orders: Readonly<Record<number, DateOrder | 'either' | 'mixed'>>;
};

/** Reads every record once. Throws IMPORT.EMPTY, IMPORT.TOO_MANY_ROWS, and what the source throws. */
export async function surveyed({ headings, records }: RecordSource): Promise<Survey> {
  let rows = 0;
  const orders: Record<number, DateOrder | 'either' | 'mixed'> = {};
  for await (const { cells, problem } of records) {
    rows += 1;
    if (rows > MOST_ROWS) {
      throw DomainError.invalid(
        'IMPORT.TOO_MANY_ROWS',
        'file',
        `File: it has more than ${MOST_ROWS.toLocaleString('en')} rows. Split it into several.`,
      );
    }
    if (problem !== undefined) continue;
    for (let column = 0; column < cells.length; column += 1) {
      const cell = cells[column] ?? '';
      if (cell.length < 6 || cell.length > 30) continue;
      const evidence = orderEvidence(cell);
      if (evidence === undefined) continue;
      orders[column] = together(orders[column], evidence);
    }
  }
  if (rows === 0) {
    throw DomainError.invalid('IMPORT.EMPTY', 'file', 'File: there are no rows in it. Choose another.');
  }
  return { headings, rows, orders };
}

function together(
  known: DateOrder | 'either' | 'mixed' | undefined,
  evidence: DateOrder | 'either',
): DateOrder | 'either' | 'mixed' {
  if (known === undefined || known === 'either') return evidence;
  return evidence === 'either' || evidence === known ? known : 'mixed';
}

/** The order that the dates of these columns show, `ask` when they do not, undefined when there is nothing to know. */
export function shownOrder(survey: Survey, columns: readonly number[]): DateOrder | 'ask' | undefined {
  const found = columns.flatMap((column) => survey.orders[column] ?? []);
  const shown = new Set(found.filter((order) => order !== 'either'));
  const [only] = shown;
  if (found.length === 0) return undefined;
  return shown.size === 1 && only !== 'mixed' && only !== undefined ? only : 'ask';
}
