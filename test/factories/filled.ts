import type { DataSource } from 'typeorm';
import { newId } from '../../src/store/index.js';

type Column = { readonly name: string; readonly type: string; readonly notnull: number };
type Link = { readonly from: string; readonly table: string };

/** What tends to be changed on the way from one database to another. */
const AWKWARD = [
  '',
  'null',
  '0012',
  'It\'s "quoted" \\ and\nbroken\tup',
  'Zoë Žižková 李小龍 👩🏽‍🦱',
  ' spaces at both ends ',
  '{"a":[1,2]}',
  '1e3',
];
const WHOLE = [0, -1, 1, 2_147_483_647, -2_147_483_648];
const INSTANTS = [0, 1_780_000_000_000, Number.MAX_SAFE_INTEGER, -1];
const REALS = [0, 0.1 + 0.2, -1e-300, 5e-324, 1.7976931348623157e308, 12.5];

/**
 * Fills every table of a migrated SQLite database with so many rows of whatever its columns can hold, parents first;
 * `more` names tables that get more. Not sensible records: the business of a move is to carry whatever is there.
 */
export async function fillEveryTable(
  source: DataSource,
  count: number,
  more: Readonly<Record<string, number>> = {},
): Promise<void> {
  const tables: { name: string }[] = await source.query(
    `SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' AND name <> 'schema_migration'`,
  );
  const ids = new Map<string, string[]>();
  const left = new Set(tables.map(({ name }) => name));
  while (left.size > 0) {
    for (const table of left) {
      const links: Link[] = await source.query(`PRAGMA foreign_key_list("${table}")`);
      if (links.some((link) => left.has(link.table) && link.table !== table)) continue;
      ids.set(table, await fill(source, table, links, ids, more[table] ?? count));
      left.delete(table);
    }
  }
}

async function fill(
  source: DataSource,
  table: string,
  links: readonly Link[],
  ids: ReadonlyMap<string, readonly string[]>,
  count: number,
): Promise<string[]> {
  const columns: Column[] = await source.query(`PRAGMA table_info("${table}")`);
  const own: string[] = [];
  await source.query('BEGIN');
  for (let i = 0; i < count; i += 1) {
    const id = newId();
    own.push(id);
    const values = columns.map((column, at) => {
      if (column.name === 'id') return id;
      const link = links.find(({ from }) => from === column.name);
      if (!column.notnull && (i + at) % 4 === 0) return null;
      if (link) return ids.get(link.table)?.[i];
      // Two of these must not overlap on one stylist, which PostgreSQL sees to.
      if (table === 'claim' && column.name === 'startsAt') return i * 10;
      if (table === 'claim' && column.name === 'endsAt') return i * 10 + 10;
      return sampleOf(column.type.toLowerCase(), i + at, i);
    });
    const places = columns.map(() => '?').join(', ');
    await source.query(`INSERT INTO "${table}" VALUES (${places})`, values);
  }
  await source.query('COMMIT');
  return own;
}

function sampleOf(type: string, seed: number, row: number): string | number | undefined {
  const pick = <T>(from: readonly T[]): T | undefined => from[seed % from.length];
  if (type === 'boolean') return seed % 2;
  if (type === 'bigint') return row < INSTANTS.length ? pick(INSTANTS) : 1_780_000_000_000 + row;
  if (type === 'integer') return row < WHOLE.length ? pick(WHOLE) : row;
  if (type === 'double precision') return pick(REALS);
  const [, length] = /^varchar\((\d+)\)$/.exec(type) ?? [];
  // Begins with the row's number, because some of these must be different in every row.
  const text = `${row.toString(36)}${pick(AWKWARD)}`;
  return length === undefined ? text : [...text].slice(0, Number(length)).join('');
}
