import { stringify } from 'csv-stringify/sync';
import type { Delimiter } from './csv-records.js';
import type { RecordSource } from './records.js';

/** The heading under which the reasons stand; handed in again it stands for nothing. */
export const REASON_HEADING = 'Why it was refused';

/**
 * The rows with a reason, as they were handed in, the reason behind them. What a spreadsheet would take for a formula
 * is defused by an apostrophe, which is taken off when the sheet is handed in again.
 */
export async function refusedCsv(
  { headings, records }: RecordSource,
  reasons: ReadonlyMap<number, string>,
  delimiter: Delimiter,
): Promise<string> {
  const rows: string[][] = [];
  for await (const { row, cells } of records) {
    const reason = reasons.get(row);
    if (reason === undefined) continue;
    const padded = headings.map((_, column) => cells[column] ?? '');
    rows.push([...padded, ...cells.slice(headings.length), reason]);
    if (rows.length === reasons.size) break;
  }
  const written = { bom: true, escape_formulas: true, record_delimiter: 'windows', delimiter } as const;
  return stringify([[...headings, REASON_HEADING], ...rows], written);
}
