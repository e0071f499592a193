import { existsSync } from 'node:fs';
import { MIGRATIONS } from '../../migrations/index.js';
import { SystemClock } from '../base/index.js';
import { ENTITIES } from '../entities.js';
import { AccountMail, Accounts, Audit, PasswordLinks, Sessions, SignIn } from '../identity/index.js';
import {
  isPostgresUrl,
  openSources,
  Reader,
  type Settings,
  type Sources,
  UnitOfWork,
  writerSource,
} from '../store/index.js';

/** Opens the database of this installation for a command, brings its schema up to date, runs `work` and closes. */
export async function withSources<T>(settings: Settings, work: (sources: Sources) => Promise<T>): Promise<T> {
  const sources = await openSources(
    settings.database,
    ENTITIES,
    MIGRATIONS,
    { key: settings.healthKey, keyFile: settings.keyFile },
    settings.pool,
  );
  try {
    return await work(sources);
  } finally {
    await sources.reader.destroy();
    await sources.writer.destroy();
  }
}

/** Names of the migrations that the database has had; it is neither made nor changed. */
export async function executedMigrations({ database }: Settings): Promise<string[]> {
  if (!isPostgresUrl(database) && !existsSync(database)) return [];
  const source = await writerSource(database, ENTITIES, MIGRATIONS).initialize();
  try {
    const runner = source.createQueryRunner();
    const has = await runner.hasTable('schema_migration');
    await runner.release();
    const rows: { name: string }[] = has ? await source.query('SELECT name FROM schema_migration') : [];
    return rows.map(({ name }) => name);
  } finally {
    await source.destroy();
  }
}

/** The services of accounts over opened sources, without a server around them. */
export function identityOver(sources: Sources, settings: Settings) {
  const units = new UnitOfWork(sources.writer);
  const reader = new Reader(sources.reader);
  const clock = new SystemClock();
  const audit = new Audit(clock);
  const sessions = new Sessions(units, reader, clock, audit);
  const signIn = new SignIn(units, reader, clock, audit, sessions);
  const mail = new AccountMail();
  const links = new PasswordLinks(units, reader, clock, audit, sessions, mail, settings);
  const accounts = new Accounts(units, reader, clock, audit, signIn, sessions, links, mail);
  return { units, links, accounts, audit, clock };
}
