import { DomainError } from '../base/index.js';
import { isPostgresUrl, type Settings } from '../store/index.js';

/** The SQLite file of an installation. Throws KEEP.ON_POSTGRES where its records are in PostgreSQL. */
export function sqliteFileOf({ database }: Pick<Settings, 'database'>): string {
  if (!isPostgresUrl(database)) return database;
  throw new DomainError(
    'refused',
    'KEEP.ON_POSTGRES',
    'These records are in PostgreSQL (DATABASE_URL), which looks after its own pages (pg_amcheck). This check is for ' +
      'SQLite files; "halfinch audit verify" works on both.',
  );
}
