import { mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import sqlite3 from 'sqlite3';
import { DataSource, type MixedList } from 'typeorm';
import { keyring } from './keyring.js';
import { type KeySource, loadKeys, usualKeyFile } from './load-keys.js';
import { requireKeys } from './sealed-values.js';

// biome-ignore lint/complexity/noBannedTypes: TypeORM's own type for entity and migration classes
type Classes = MixedList<Function>;

export type Sources = { readonly writer: DataSource; readonly reader: DataSource };

const BUSY_TIMEOUT_MS = 10_000;

/** TypeORM asks sqlite3 for a stack trace with every statement (`verbose`): a third of a request's time. Not here. */
const driver = { ...sqlite3, verbose: () => sqlite3 };

/** The SQLite writer: WAL, foreign keys on, and a commit is on the disk before it is reported. */
export function sqliteWriter(file: string, entities: Classes, migrations: Classes): DataSource {
  return new DataSource({
    type: 'sqlite',
    driver,
    database: file,
    entities,
    migrations,
    migrationsTableName: 'schema_migration',
    migrationsTransactionMode: 'each',
    enableWAL: true,
    busyTimeout: BUSY_TIMEOUT_MS,
  });
}

function sqliteReader(file: string, entities: Classes): DataSource {
  return new DataSource({
    type: 'sqlite',
    driver,
    database: file,
    entities,
    flags: sqlite3.OPEN_READONLY | sqlite3.OPEN_FULLMUTEX,
    busyTimeout: BUSY_TIMEOUT_MS,
  });
}

/**
 * Opens the database (making it when missing), brings its schema up to date, then opens the readers.
 * Throws KeyError when the keys cannot open what is sealed in it.
 */
export async function openSources(
  file: string,
  entities: Classes,
  migrations: Classes,
  keys: KeySource = { keyFile: usualKeyFile(dirname(file)) },
): Promise<Sources> {
  // SQLite makes its files readable by everybody: the folder must not let everybody in.
  mkdirSync(dirname(file), { recursive: true, mode: 0o700 });
  keyring.use(loadKeys(keys));
  const writer = await sqliteWriter(file, entities, migrations).initialize();
  try {
    await writer.query('PRAGMA synchronous = FULL');
    // What is erased is overwritten, not just unlinked.
    await writer.query('PRAGMA secure_delete = ON');
    await writer.runMigrations();
    await requireKeys(writer);
    const reader = await sqliteReader(file, entities).initialize();
    return { writer, reader };
  } catch (error) {
    await writer.destroy();
    throw error;
  }
}
