import type { EntityManager } from 'typeorm';
import { daysBetween } from '../base/index.js';
import { isPostgres } from '../store/index.js';

type Value = string | number | null;

/** Rows of a query written for both databases, with `:name` for its values; counts come back as numbers. */
export async function ask<Row extends Record<string, Value>>(
  manager: EntityManager,
  sql: string,
  values: Readonly<Record<string, Value>>,
  numbers: readonly (keyof Row & string)[],
): Promise<Row[]> {
  const [query, parameters] = manager.connection.driver.escapeQueryWithParameters(sql, { ...values }, {});
  const rows: Record<string, Value>[] = await manager.query(query, parameters);
  // PostgreSQL hands sums and counts back as text.
  for (const row of rows) {
    for (const name of numbers) row[name] = row[name] === null ? null : Number(row[name]);
  }
  return rows as Row[];
}

/** A date of ours in PostgreSQL; by way of text, or it would take a value that is used elsewhere too for a date there. */
const asDate = (text: string): string => `CAST(CAST(${text} AS text) AS date)`;

/** Whole days from one calendar date to another, in the database's own words. */
export function daysSql(manager: EntityManager, from: string, to: string): string {
  return isPostgres(manager)
    ? `(${asDate(to)} - ${asDate(from)})`
    : `CAST(julianday(${to}) - julianday(${from}) AS integer)`;
}

/** `date` so many days on, in the database's own words. */
export function laterSql(manager: EntityManager, date: string, days: number): string {
  return isPostgres(manager)
    ? `to_char(${asDate(date)} + ${days}, 'YYYY-MM-DD')`
    : `date(${date}, '+${days} days')`;
}

/** The smaller of two numbers. */
export function leastSql(manager: EntityManager, a: string, b: string): string {
  return isPostgres(manager) ? `LEAST(${a}, ${b})` : `MIN(${a}, ${b})`;
}

/** The larger of two numbers. */
export function mostSql(manager: EntityManager, a: string, b: string): string {
  return isPostgres(manager) ? `GREATEST(${a}, ${b})` : `MAX(${a}, ${b})`;
}

/** 1 where the condition holds, else 0: to be summed. */
export const one = (condition: string): string => `CASE WHEN ${condition} THEN 1 ELSE 0 END`;

/**
 * To stand at the end of a subquery whose columns are used several times: keeps the database from copying their
 * expressions to each use, which would look everything up as often.
 */
export const fence = (manager: EntityManager): string => (isPostgres(manager) ? 'OFFSET 0' : 'LIMIT -1');

const LONG_DAYS = 366;

type Span = { readonly fromDate: string; readonly today: string };

/** Whether SQLite does better to read a whole table or index in its order than to seek the days; PostgreSQL sees itself. */
export const isReadWhole = (manager: EntityManager, { fromDate, today }: Span): boolean =>
  !isPostgres(manager) && daysBetween(fromDate, today) >= LONG_DAYS;

/** A table to be read over the days of a scope: over a long time as it lies. */
export const over = (manager: EntityManager, table: string, span: Span): string =>
  isReadWhole(manager, span) ? `${table} NOT INDEXED` : table;
