import { addDays, dayBounds } from '../base/index.js';

/** What figures are cut by. */
export const CUTS_BY = ['stylist', 'service', 'shape', 'first-time', 'salon', 'month'] as const;
export type CutBy = (typeof CUTS_BY)[number];

/** Whose figures, and over which days. */
export type FigureScope = {
  /** Null: every salon of this installation. */
  readonly salonId: string | null;
  /** Null: everybody's. */
  readonly staffId: string | null;
  /** First calendar day counted; today is the last. */
  readonly fromDate: string;
  readonly today: string;
  readonly now: number;
  /** IANA zone of the salon. */
  readonly zone: string;
};

/** Where a calendar month ('YYYY-MM') begins and the next one does, as instants. */
export type MonthSpan = { readonly month: string; readonly startsAt: number; readonly endsAt: number };

function nextMonth(month: string): string {
  return addDays(`${month}-01`, 31).slice(0, 7);
}

/** The months from that of `from` to that of `to` in a zone, in order. */
export function monthSpans(zone: string, from: string, to: string): MonthSpan[] {
  const spans: MonthSpan[] = [];
  for (let month = from.slice(0, 7); month <= to.slice(0, 7); month = nextMonth(month)) {
    const startsAt = dayBounds(zone, `${month}-01`).startsAt;
    const endsAt = dayBounds(zone, `${nextMonth(month)}-01`).startsAt;
    spans.push({ month, startsAt, endsAt });
  }
  return spans;
}

/** The month of an instant as an expression of few comparisons; `spans` in order and not empty. */
export function monthSql(column: string, spans: readonly MonthSpan[]): string {
  if (spans.length === 1) return `'${spans[0]!.month}'`;
  const half = spans.length >> 1;
  const [early, late] = [spans.slice(0, half), spans.slice(half)];
  const start = late[0]!.startsAt;
  return `CASE WHEN ${column} < ${start} THEN ${monthSql(column, early)} ELSE ${monthSql(column, late)} END`;
}
