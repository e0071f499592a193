import { createHash } from 'node:crypto';
import type { Table } from './tables.js';

export type StoredRow = Readonly<Record<string, unknown>>;

const NUMBERS = new Set(['bigint', 'integer', 'double precision']);
const TEXTS = new Set(['character varying', 'text']);

/** A column's value as PostgreSQL's type means it, whichever of the two databases it was read from. */
export function plainValue(value: unknown, type: string): string | number | boolean | null {
  if (value === null || value === undefined) return null;
  if (type === 'boolean') return value === true || value === 1;
  if (NUMBERS.has(type)) return Number(value);
  if (TEXTS.has(type)) return String(value);
  throw new Error(`Columns of type ${type} are unknown here.`);
}

/** SHA-256 of a row's canonical text: its values by the columns' names, numbers in the shortest form that reads back alike. */
export function rowSum({ columns }: Table, row: StoredRow): string {
  const text = JSON.stringify(
    columns.map(({ name, type }) => {
      const value = plainValue(row[name], type);
      // JSON knows no infinity and would call it null.
      return typeof value === 'number' && !Number.isFinite(value) ? String(value) : value;
    }),
  );
  return createHash('sha256').update(text).digest('hex');
}
