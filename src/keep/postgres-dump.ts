import { execFile } from 'node:child_process';
import { promisify } from 'node:util';
import { Client } from 'pg';
import { DomainError } from '../base/index.js';
import type { DatabaseFacts } from './sqlite-file.js';

const run = promisify(execFile);

/** What a dump holds, read in the dump's own snapshot. */
export type DumpFacts = {
  readonly facts: DatabaseFacts;
  readonly keys: readonly string[];
  readonly photos: readonly string[];
};

/** The address without its password, which other users of the machine could read, and the password for the environment. */
function connection(url: string): { readonly address: string; readonly env: NodeJS.ProcessEnv } {
  const parsed = new URL(url);
  const password = decodeURIComponent(parsed.password);
  parsed.password = '';
  return { address: parsed.href, env: { ...process.env, ...(password !== '' && { PGPASSWORD: password }) } };
}

/** Runs a tool of PostgreSQL's; says what it said where it fails. */
async function tool(name: 'pg_dump' | 'pg_restore', url: string, args: readonly string[]): Promise<void> {
  const { address, env } = connection(url);
  try {
    await run(name, [...args, `--dbname=${address}`], { env });
  } catch (error) {
    const { code, stderr = '' } = error as { code?: unknown; stderr?: string };
    if (code === 'ENOENT') {
      throw new DomainError(
        'refused',
        'KEEP.TOOL_MISSING',
        `${name} is not installed: install PostgreSQL's client programs, of the server's version or a newer one.`,
      );
    }
    throw new DomainError('refused', 'KEEP.TOOL_FAILED', `${name} failed: ${stderr.trim() || String(code)}`);
  }
}

const quoted = (name: string) => `"${name.replaceAll('"', '""')}"`;

async function factsIn(client: Client): Promise<DumpFacts> {
  const ask = async <R>(sql: string): Promise<R[]> => (await client.query(sql)).rows as R[];
  const tables = await ask<{ name: string }>(
    "SELECT tablename AS name FROM pg_tables WHERE schemaname = 'public' ORDER BY 1",
  );
  const rows: Record<string, number> = {};
  for (const { name } of tables) {
    const [counted] = await ask<{ n: string }>(`SELECT count(*) AS n FROM ${quoted(name)}`);
    rows[name] = Number(counted?.n ?? 0);
  }
  const keys = new Set<string>();
  const columns = await ask<{ table: string; column: string }>(
    `SELECT table_name AS "table", column_name AS "column" FROM information_schema.columns
     WHERE table_schema = 'public' AND data_type = 'text'`,
  );
  for (const { table, column } of columns) {
    const found = await ask<{ id: string }>(
      `SELECT DISTINCT substr(${quoted(column)}, 10, 8) AS id FROM ${quoted(table)} ` +
        `WHERE ${quoted(column)} LIKE 'sealed:1:________:%'`,
    );
    for (const { id } of found) keys.add(id);
  }
  const [migration] = await ask<{ name: string }>(
    'SELECT name FROM schema_migration ORDER BY "timestamp" DESC LIMIT 1',
  );
  const [head] = await ask<{ number: number; hash: string }>(
    'SELECT number, hash FROM audit_entry ORDER BY number DESC LIMIT 1',
  );
  const photos = await ask<{ file: string }>('SELECT file FROM photo ORDER BY file');
  const auditHead = head ? { number: Number(head.number), hash: head.hash } : null;
  return {
    facts: { schema: migration?.name ?? '', auditHead, rows },
    keys: [...keys].sort(),
    photos: photos.map(({ file }) => file),
  };
}

async function withClient<T>(url: string, work: (client: Client) => Promise<T>): Promise<T> {
  const client = new Client({ connectionString: url });
  await client.connect();
  try {
    return await work(client);
  } finally {
    await client.end();
  }
}

/**
 * Dumps a PostgreSQL database by pg_dump into a file of its own format, while others write; what is read beside belongs
 * to the same snapshot. Throws KEEP.TOOL_MISSING, KEEP.TOOL_FAILED.
 */
export async function dumpPostgres(url: string, into: string): Promise<DumpFacts> {
  return await withClient(url, async (client) => {
    await client.query('BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY');
    const { rows } = await client.query('SELECT pg_export_snapshot() AS id');
    const { id } = rows[0] as { id: string };
    const args = ['--format=custom', '--no-owner', '--no-privileges', `--snapshot=${id}`, `--file=${into}`];
    await tool('pg_dump', url, args);
    const facts = await factsIn(client);
    await client.query('COMMIT');
    return facts;
  });
}

/** Whether the database has no table yet. */
export async function isBarePostgres(url: string): Promise<boolean> {
  return await withClient(url, async (client) => {
    const { rowCount } = await client.query("SELECT 1 FROM pg_tables WHERE schemaname = 'public' LIMIT 1");
    return rowCount === 0;
  });
}

/** Brings a dump back into a database without tables: all of it or nothing. */
export async function restorePostgres(url: string, dump: string): Promise<void> {
  const args = ['--exit-on-error', '--single-transaction', '--no-owner', '--no-privileges'];
  // pg_restore takes the file as its last argument.
  await tool('pg_restore', url, [...args, dump]);
}
