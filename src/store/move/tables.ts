import type { DataSource } from 'typeorm';
import { UNFINISHED_MOVE } from './mark.js';
import { MoveError } from './move-error.js';

export type Column = { readonly name: string; readonly type: string };

export type Table = {
  readonly name: string;
  /** By name. */
  readonly columns: readonly Column[];
  /** Its one key column. */
  readonly key: string;
};

const OWN_BOOKKEEPING = ['schema_migration', UNFINISHED_MOVE];

const COLUMNS = `
SELECT c.table_name AS "table", c.column_name AS name, c.data_type AS type
FROM information_schema.columns c JOIN information_schema.tables t USING (table_schema, table_name)
WHERE c.table_schema = 'public' AND t.table_type = 'BASE TABLE' AND NOT c.table_name = ANY($1)
ORDER BY c.table_name, c.column_name COLLATE "C"`;

const KEYS = `
SELECT r.relname AS "table", a.attname AS name FROM pg_constraint c
JOIN pg_class r ON r.oid = c.conrelid
JOIN pg_attribute a ON a.attrelid = c.conrelid AND a.attnum = ANY(c.conkey)
WHERE c.contype = 'p' AND r.relnamespace = 'public'::regnamespace`;

const LINKS = `
SELECT r.relname AS "table", f.relname AS parent FROM pg_constraint c
JOIN pg_class r ON r.oid = c.conrelid JOIN pg_class f ON f.oid = c.confrelid
WHERE c.contype = 'f' AND r.relnamespace = 'public'::regnamespace`;

/** The tables of a migrated PostgreSQL database, each after all that it points at. */
export async function tablesInOrder(target: DataSource): Promise<Table[]> {
  const columns: (Column & { table: string })[] = await target.query(COLUMNS, [OWN_BOOKKEEPING]);
  const keys: { table: string; name: string }[] = await target.query(KEYS);
  const links: { table: string; parent: string }[] = await target.query(LINKS);
  const names = [...new Set(columns.map(({ table }) => table))];
  return inOrder(names, links).map((name) => ({
    name,
    columns: columns.filter(({ table }) => table === name).map((one) => ({ name: one.name, type: one.type })),
    key: oneKey(
      name,
      keys.filter(({ table }) => table === name),
    ),
  }));
}

function oneKey(table: string, keys: readonly { readonly name: string }[]): string {
  const [key] = keys;
  if (!key || keys.length > 1) throw new Error(`The table ${table} has not just one key column.`);
  return key.name;
}

function inOrder(names: readonly string[], links: readonly { table: string; parent: string }[]): string[] {
  const ordered: string[] = [];
  const left = new Set(names);
  while (left.size > 0) {
    const waits = (name: string) => links.some(({ table, parent }) => table === name && left.has(parent));
    const ready = [...left].filter((name) => !waits(name));
    if (ready.length === 0) throw new Error(`These tables point at each other: ${[...left].join(', ')}.`);
    for (const name of ready) left.delete(name);
    ordered.push(...ready);
  }
  return ordered;
}

/** Throws MoveError unless the source has just these migrations behind it, and with them just these tables. */
export async function requireSameSchema(source: DataSource, target: DataSource): Promise<void> {
  const ask = async (database: DataSource): Promise<string> => {
    const rows: { name: string }[] = await database
      .query('SELECT name FROM schema_migration')
      .catch(() => []);
    return rows
      .map(({ name }) => name)
      .sort()
      .join();
  };
  if ((await ask(source)) === (await ask(target))) return;
  throw new MoveError(
    'The SQLite file was last used by another version of Halfinch than this one. Start this version on it once, which ' +
      'brings it up to date, stop it and move then.',
  );
}
