import { mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import sqlite3 from 'sqlite3';
import { DataSource, type EntityManager, type MixedList } from 'typeorm';
import { isPostgres } from './dialect.js';
import { keyring } from './keyring.js';
import { type KeySource, loadKeys, usualKeyFile } from './load-keys.js';
import { IS_UNFINISHED } from './move/mark.js';
import { requireKeys } from './sealed-values.js';
import { underSqliteLock } from './sqlite-lock.js';

// biome-ignore lint/complexity/noBannedTypes: TypeORM's own type for entity and migration classes
export type Classes = MixedList<Function>;

export type Sources = { readonly writer: DataSource; readonly reader: DataSource };

/** How a process may use PostgreSQL; SQLite has one connection to write and one to read. */
export type PoolLimits = {
  /** Connections that read; two more write. */
  readonly readers: number;
  /** A statement that takes longer is stopped, in milliseconds; 0 for no bound. */
  readonly statementMs: number;
};

const USUAL_LIMITS: PoolLimits = { readers: 8, statementMs: 30_000 };
const WRITERS = 2;
const BUSY_TIMEOUT_MS = 10_000;

const MIGRATING = {
  migrationsTableName: 'schema_migration',
  migrationsTransactionMode: 'each',
} as const;

/** Names the lock under which one process at a time brings the schema up to date ("halfinch", any fixed number). */
const MIGRATION_LOCK = 4_180_001;

/** TypeORM asks sqlite3 for a stack trace with every statement (`verbose`), which only costs time here. */
const driver = { ...sqlite3, verbose: () => sqlite3 };

/** Whether `database` is the address of a PostgreSQL server; else it is the path of an SQLite file. */
export const isPostgresUrl = (database: string): boolean => /^postgres(ql)?:\/\//.test(database);

/** The SQLite writer: WAL, foreign keys on. */
function sqliteWriter(file: string, entities: Classes, migrations: Classes): DataSource {
  return new DataSource({
    ...MIGRATING,
    type: 'sqlite',
    driver,
    database: file,
    entities,
    migrations,
    enableWAL: true,
    busyTimeout: BUSY_TIMEOUT_MS,
  });
}

/** A connection that cannot write; throws where there is no such file. */
export function sqliteReader(file: string, entities: Classes): DataSource {
  return new DataSource({
    type: 'sqlite',
    driver,
    database: file,
    entities,
    flags: sqlite3.OPEN_READONLY | sqlite3.OPEN_FULLMUTEX,
    busyTimeout: BUSY_TIMEOUT_MS,
  });
}

type Pool = { readonly size: number; readonly readOnly: boolean; readonly statementMs: number };

function postgresSource(
  url: string,
  entities: Classes,
  migrations: Classes,
  { size, readOnly, statementMs }: Pool,
): DataSource {
  return new DataSource({
    ...MIGRATING,
    type: 'postgres',
    url,
    entities,
    migrations,
    poolSize: size,
    applicationName: readOnly ? 'halfinch reader' : 'halfinch writer',
    connectTimeoutMS: BUSY_TIMEOUT_MS,
    extra: {
      statement_timeout: statementMs,
      ...(readOnly && { options: '-c default_transaction_read_only=on' }),
    },
  });
}

async function requireFinishedMove(writer: DataSource): Promise<void> {
  const [{ unfinished }] = await writer.query(IS_UNFINISHED);
  if (!unfinished) return;
  throw new Error(
    'Records were being moved into this PostgreSQL database and not all of them are there. Run the move again, which ' +
      'goes on where it was, or go on with the SQLite file, which is as it was.',
  );
}

/** Brings the schema up to date; other processes that start at the same time wait and then find it done. */
async function migratePostgres(writer: DataSource): Promise<void> {
  const lock = writer.createQueryRunner();
  try {
    await lock.query('SET statement_timeout = 0');
    await lock.query('SELECT pg_advisory_lock($1)', [MIGRATION_LOCK]);
    await writer.runMigrations();
    await lock.query('SELECT pg_advisory_unlock($1)', [MIGRATION_LOCK]);
    await lock.query('RESET statement_timeout');
  } finally {
    await lock.release();
  }
}

/** The same on SQLite, where two that turn a new file to WAL at the same time would lock each other out. */
async function openAndMigrateSqlite(writer: DataSource): Promise<void> {
  await underSqliteLock(String(writer.options.database), async () => {
    await writer.initialize();
    await writer.query('PRAGMA synchronous = FULL');
    // What is erased is overwritten, not just unlinked.
    await writer.query('PRAGMA secure_delete = ON');
    await writer.runMigrations();
  });
}

/**
 * Has SQLite look again at tables that have grown or shrunk a lot since it last did, a few thousand rows of each, so that it
 * picks indices by what is there; PostgreSQL sees to that by itself.
 */
export async function gatherStatistics(writer: EntityManager): Promise<void> {
  // 0x10000 looks at every table, 2 analyses, 0x10 bounds how much is read (sqlite.org/pragma.html#pragma_optimize).
  if (!isPostgres(writer)) await writer.query('PRAGMA optimize = 0x10012');
}

/** Has a connection that is open heed what another one has gathered since. */
export async function heedStatistics(reader: EntityManager): Promise<void> {
  // Reads the schema anew, and with it the statistics (sqlite.org/pragma.html#pragma_writable_schema).
  if (!isPostgres(reader)) await reader.query('PRAGMA writable_schema = RESET');
}

/** What writes to a database (an SQLite file or a postgres:// address); neither connected nor migrated yet. */
export function writerSource(
  database: string,
  entities: Classes,
  migrations: Classes,
  statementMs = USUAL_LIMITS.statementMs,
): DataSource {
  return isPostgresUrl(database)
    ? postgresSource(database, entities, migrations, { size: WRITERS, readOnly: false, statementMs })
    : sqliteWriter(database, entities, migrations);
}

/**
 * Opens the database (an SQLite file, made when missing, or a postgres:// address) to write, its schema up to date.
 * Asks for no keys: for what must work without them. `isMove` lets it open a database that is being moved into.
 */
export async function openWriter(
  database: string,
  entities: Classes,
  migrations: Classes,
  {
    statementMs,
    isMove = false,
  }: Pick<PoolLimits, 'statementMs'> & { readonly isMove?: boolean } = USUAL_LIMITS,
): Promise<DataSource> {
  const isServer = isPostgresUrl(database);
  // SQLite makes its files readable by everybody: the folder must not let everybody in.
  if (!isServer) mkdirSync(dirname(database), { recursive: true, mode: 0o700 });
  const writer = writerSource(database, entities, migrations, statementMs);
  try {
    if (isServer) {
      await writer.initialize();
      if (!isMove) await requireFinishedMove(writer);
      await migratePostgres(writer);
    } else await openAndMigrateSqlite(writer);
    return writer;
  } catch (error) {
    if (writer.isInitialized) await writer.destroy();
    throw error;
  }
}

/** Opens the database to write and to read. Throws KeyError when the keys cannot open what is sealed in it. */
export async function openSources(
  database: string,
  entities: Classes,
  migrations: Classes,
  keys: KeySource = { keyFile: usualKeyFile(dirname(database)) },
  { readers, statementMs }: PoolLimits = USUAL_LIMITS,
): Promise<Sources> {
  keyring.use(loadKeys(keys));
  const writer = await openWriter(database, entities, migrations, { statementMs });
  try {
    await requireKeys(writer);
    await gatherStatistics(writer.manager);
    const reader = isPostgresUrl(database)
      ? postgresSource(database, entities, [], { size: readers, readOnly: true, statementMs })
      : sqliteReader(database, entities);
    return { writer, reader: await reader.initialize() };
  } catch (error) {
    await writer.destroy();
    throw error;
  }
}
