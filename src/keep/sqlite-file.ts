import sqlite3 from 'sqlite3';

type Row = Readonly<Record<string, unknown>>;

/**
 * A connection of its own to a SQLite file that changes nothing in it, beside whatever else has it open. Throws what
 * SQLite says, with its code.
 */
export async function readingFile<T>(
  file: string,
  work: (ask: <R extends Row>(sql: string, values?: readonly unknown[]) => Promise<R[]>) => Promise<T>,
): Promise<T> {
  const database = await new Promise<sqlite3.Database>((opened, failed) => {
    const made: sqlite3.Database = new sqlite3.Database(file, sqlite3.OPEN_READONLY, (error) =>
      error ? failed(error) : opened(made),
    );
  });
  try {
    database.configure('busyTimeout', 10_000);
    return await work(
      (sql, values = []) =>
        new Promise((done, failed) => {
          database.all(sql, values as unknown[], (error, rows) =>
            error ? failed(error) : done(rows as never[]),
          );
        }),
    );
  } finally {
    await new Promise<void>((closed) => {
      database.close(() => closed());
    });
  }
}

/** What a database file is and needs. */
export type DatabaseFacts = {
  /** Name of the newest migration that it has had. */
  readonly schema: string;
  /** Newest entry of the audit trail; null where there is none. */
  readonly auditHead: { readonly number: number; readonly hash: string } | null;
  /** Rows by table. */
  readonly rows: Readonly<Record<string, number>>;
};

const quoted = (name: string) => `"${name.replaceAll('"', '""')}"`;

/** Copies the database as it stands at one instant, while others go on writing; free pages are left out. */
export async function copyDatabase(file: string, into: string): Promise<void> {
  await readingFile(file, (ask) => ask('VACUUM INTO ?', [into]));
}

/** Reads what the manifest says of a database file. */
export async function factsOf(file: string): Promise<DatabaseFacts> {
  return await readingFile(file, async (ask) => {
    const tables = await ask<{ name: string }>(
      "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name",
    );
    const rows: Record<string, number> = {};
    for (const { name } of tables) {
      const [counted] = await ask<{ n: number }>(`SELECT count(*) AS n FROM ${quoted(name)}`);
      rows[name] = counted?.n ?? 0;
    }
    const has = (table: string) => tables.some(({ name }) => name === table);
    const [migration] = has('schema_migration')
      ? await ask<{ name: string }>('SELECT name FROM schema_migration ORDER BY timestamp DESC LIMIT 1')
      : [];
    const [head] = has('audit_entry')
      ? await ask<{ number: number; hash: string }>(
          'SELECT number, hash FROM audit_entry ORDER BY number DESC LIMIT 1',
        )
      : [];
    return { schema: migration?.name ?? '', auditHead: head ?? null, rows };
  });
}

/** What SQLite itself finds wrong in a file: pages, indices, references. Empty when all is well. */
export async function faultsOf(file: string): Promise<string[]> {
  return await readingFile(file, async (ask) => {
    const pages = await ask<{ integrity_check: string }>('PRAGMA integrity_check(20)');
    const links = await ask<{ table: string; parent: string }>('PRAGMA foreign_key_check');
    return [
      ...pages.map((row) => row.integrity_check).filter((words) => words !== 'ok'),
      ...links
        .slice(0, 20)
        .map(({ table, parent }) => `A row of ${table} points at a ${parent} that is not there.`),
    ];
  });
}

/** Names of the files of photographs that rows know. */
export async function photoNamesOf(file: string): Promise<string[]> {
  return await readingFile(file, async (ask) => {
    const rows = await ask<{ file: string }>('SELECT file FROM photo ORDER BY file');
    return rows.map((row) => row.file);
  });
}

/** Ids of the keys that sealed words of a database need, whichever tables it has. */
export async function keysNeededBy(file: string): Promise<string[]> {
  return await readingFile(file, async (ask) => {
    const columns = await ask<{ table: string; column: string }>(
      "SELECT t.name AS 'table', c.name AS 'column' FROM sqlite_master t, pragma_table_info(t.name) c " +
        "WHERE t.type = 'table' AND lower(c.type) = 'text'",
    );
    const ids = new Set<string>();
    for (const { table, column } of columns) {
      const rows = await ask<{ id: string }>(
        `SELECT DISTINCT substr(${quoted(column)}, 10, 8) AS id FROM ${quoted(table)} ` +
          `WHERE ${quoted(column)} LIKE 'sealed:1:________:%'`,
      );
      for (const { id } of rows) ids.add(id);
    }
    return [...ids].sort();
  });
}
