import type { Client } from 'pg';
import { MoveError } from './move-error.js';

/** Stands in a database as long as records are being moved into it, so that nobody works on half of them. */
export const UNFINISHED_MOVE = 'unfinished_move';

/** Tables, views and sequences that belong to no extension, the server's own left out. */
const RELATIONS = `
SELECT c.relname AS name FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
WHERE c.relkind IN ('r', 'p', 'v', 'm', 'S', 'f') AND n.nspname <> 'information_schema' AND n.nspname NOT LIKE 'pg\\_%'
  AND NOT EXISTS (SELECT 1 FROM pg_depend d WHERE d.objid = c.oid AND d.deptype = 'e')
ORDER BY c.relname`;

/** Whether a move into this database was begun and not finished. */
export const IS_UNFINISHED = `SELECT to_regclass('public.${UNFINISHED_MOVE}') IS NOT NULL AS unfinished`;

/**
 * Marks an empty database as being moved into, or finds it marked by an earlier run. Returns whether it was. Throws
 * MoveError where anything foreign is in it, of which nothing is touched.
 */
export async function markTarget(target: Client): Promise<boolean> {
  const { rows } = await target.query<{ name: string }>(RELATIONS);
  if (rows.some(({ name }) => name === UNFINISHED_MOVE)) return true;
  if (rows.length > 0) {
    const names = rows.slice(0, 5).map(({ name }) => name);
    const more = rows.length > names.length ? ` and ${rows.length - names.length} more` : '';
    throw new MoveError(
      `The PostgreSQL database is not empty (${names.join(', ')}${more}). Nothing was changed. ` +
        'Make a new, empty database ("createdb halfinch") and name that one.',
    );
  }
  await target.query(`CREATE TABLE public.${UNFINISHED_MOVE} ("begunAt" timestamptz NOT NULL DEFAULT now())`);
  return false;
}
