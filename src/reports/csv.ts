import { stringify } from 'csv-stringify/sync';
import type { Cell, CellKind, Figure } from './figure.js';

/** Digits after the point; a share is written as a number from 0 to 1. */
const DIGITS: Partial<Record<CellKind, number>> = { share: 4, decimal: 2, minutes: 0 };

export function currencyDigits(currency: string): number {
  return (
    new Intl.NumberFormat('en', { style: 'currency', currency }).resolvedOptions().maximumFractionDigits ?? 2
  );
}

function written(cell: Cell, kind: CellKind, moneyDigits: number): string {
  if (cell === null) return '';
  if (typeof cell === 'string') return cell;
  if (kind === 'money') return (cell / 10 ** moneyDigits).toFixed(moneyDigits);
  const digits = DIGITS[kind];
  return digits === undefined ? String(cell) : cell.toFixed(digits);
}

/**
 * A figure's table as CSV (RFC 4180, UTF-8 with a byte-order mark so that spreadsheets read names right). Money in the
 * currency's main unit, times in minutes. Text that a spreadsheet would take for a formula is defused.
 */
export function figureCsv(figure: Figure, currency: string): string {
  const digits = currencyDigits(currency);
  const heads = figure.columns.map(({ label, kind }) =>
    kind === 'money' ? `${label} (${currency})` : kind === 'minutes' ? `${label} (minutes)` : label,
  );
  const rows = figure.rows.map(({ cells }) =>
    figure.columns.map(({ key, kind }) => written(cells[key] ?? null, kind, digits)),
  );
  return stringify([heads, ...rows], { bom: true, escape_formulas: true, record_delimiter: 'windows' });
}
