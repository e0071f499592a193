import { randomUUID } from 'node:crypto';
import { copyFile, mkdir, mkdtemp, rename } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { Client } from 'pg';
import type { DataSource } from 'typeorm';
import { MIGRATIONS } from '../../migrations/index.js';
import { ENTITIES } from '../../src/entities.js';
import { openWriter, writerSource } from '../../src/store/index.js';
import { refuseQueriesAtOnce } from './queries-at-once.js';

refuseQueriesAtOnce();

export type EmptyDatabase = {
  /** The file that was asked for, or the address of a database of its own on the run's PostgreSQL. */
  readonly database: string;
  /** Once all its connections are closed. */
  drop(): Promise<void>;
};

/** Whether this run of the specs is the one on PostgreSQL. */
export const isOnPostgres = () => process.env['TEST_STORE'] === 'postgres';

/**
 * A migrated, empty database: an SQLite file at `file`, or one of PostgreSQL's in the run that tests on it. Migrations
 * cost more than most tests, so they run once a test run and each store starts from a copy; `.config/test-run.mjs` makes
 * and removes what the run shares.
 */
export async function emptyDatabase(file: string): Promise<EmptyDatabase> {
  if (isOnPostgres()) return await copyOnPostgres();
  await copyFileTo(file);
  return { database: file, drop: async () => undefined };
}

/** A database without a single table, for the migrations themselves. */
export async function bareDatabase(file: string): Promise<EmptyDatabase> {
  return isOnPostgres() ? await barePostgres() : { database: file, drop: async () => undefined };
}

/** The same on the run's PostgreSQL, whatever this run of the specs is on. */
export async function barePostgres(): Promise<EmptyDatabase> {
  const name = freshName();
  await onServer(async (admin) => void (await admin.query(`CREATE DATABASE ${name}`)));
  return onPostgres(name);
}

/** The names of its tables, as the database itself lists them. */
export async function tablesOf(source: DataSource): Promise<string[]> {
  const rows: { name: string }[] = await source.query(
    isOnPostgres()
      ? "SELECT tablename AS name FROM pg_tables WHERE schemaname = 'public'"
      : "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'",
  );
  return rows.map(({ name }) => name);
}

async function copyFileTo(file: string): Promise<void> {
  await mkdir(dirname(file), { recursive: true });
  // A measuring run has no folder of its own yet; an old copy must never be taken for today's schema.
  process.env['HALFINCH_TEST_RUN'] ??= await mkdtemp(join(tmpdir(), 'halfinch-run-'));
  const model = join(process.env['HALFINCH_TEST_RUN'], 'migrated.sqlite');
  try {
    await copyFile(model, file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    const own = `${model}.${process.pid}`;
    const source = await writerSource(own, ENTITIES, MIGRATIONS).initialize();
    await source.runMigrations();
    await source.destroy();
    // Several workers may be first at once: each puts a whole file in place.
    await rename(own, model);
    await copyFile(model, file);
  }
}

const MODEL = 'migrated';

async function copyOnPostgres(): Promise<EmptyDatabase> {
  const server = process.env['HALFINCH_TEST_POSTGRES'];
  const name = freshName();
  await onServer(async (admin) => {
    await admin.query('SELECT pg_advisory_lock(1)');
    const made = await admin.query('SELECT 1 FROM pg_database WHERE datname = $1', [MODEL]);
    if (made.rowCount === 0) {
      await admin.query('CREATE DATABASE making');
      const writer = await openWriter(`${server}/making`, ENTITIES, MIGRATIONS);
      // Whoever measures wants the product's own writes and nothing beside them.
      if (process.env['HALFINCH_UNCOUNTED'] === undefined) await countWrites(writer);
      await writer.destroy();
      await admin.query(`ALTER DATABASE making RENAME TO ${MODEL}`);
    }
    await admin.query('SELECT pg_advisory_unlock(1)');
    await admin.query(`CREATE DATABASE ${name} TEMPLATE ${MODEL} STRATEGY FILE_COPY`);
  });
  return onPostgres(name);
}

const freshName = () => `test_${randomUUID().replaceAll('-', '')}`;

function onPostgres(name: string): EmptyDatabase {
  return {
    database: `${process.env['HALFINCH_TEST_POSTGRES']}/${name}`,
    drop: () => onServer(async (admin) => void (await admin.query(`DROP DATABASE ${name} WITH (FORCE)`))),
  };
}

async function onServer(work: (admin: Client) => Promise<void>): Promise<void> {
  const admin = new Client({ connectionString: `${process.env['HALFINCH_TEST_POSTGRES']}/postgres` });
  await admin.connect();
  try {
    await work(admin);
  } finally {
    await admin.end();
  }
}

/** PostgreSQL does not count by itself what is committed in one database, as SQLite does: the specs' databases do. */
async function countWrites(writer: DataSource): Promise<void> {
  await writer.query('CREATE TABLE written (times bigint NOT NULL)');
  await writer.query('INSERT INTO written VALUES (0)');
  await writer.query(
    `CREATE FUNCTION count_write() RETURNS trigger LANGUAGE plpgsql AS
       'BEGIN UPDATE written SET times = times + 1; RETURN NULL; END'`,
  );
  for (const { tableName } of writer.entityMetadatas) {
    await writer.query(
      `CREATE TRIGGER count_write AFTER INSERT OR UPDATE OR DELETE ON "${tableName}"
         FOR EACH ROW EXECUTE FUNCTION count_write()`,
    );
  }
}
