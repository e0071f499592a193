import type { EntityManager } from 'typeorm';
import { isPostgres } from '../store/index.js';

/*
 * Erasing a client keeps her visits, without anything personal, for the sums. From that day on nobody can tell whether
 * she comes back: she has neither returned nor stayed away.
 */

/** The calendar day (UTC) on which client `id` was erased, up to :now; null for all others. */
export function erasedOnSql(manager: EntityManager, id: string): string {
  const day = isPostgres(manager)
    ? `to_char(to_timestamp(c."erasedAt" / 1000) AT TIME ZONE 'UTC', 'YYYY-MM-DD')`
    : `date(c."erasedAt" / 1000, 'unixepoch')`;
  return `(SELECT ${day} FROM client c WHERE c.id = ${id} AND c."erasedAt" <= :now)`;
}

/** Whether client `id` could still be seen coming on `date`; asked of the few who were erased only. */
export function knownUntilSql(manager: EntityManager, id: string, date: string): string {
  return `(${id} NOT IN (SELECT e.id FROM client e WHERE e."erasedAt" IS NOT NULL)
    OR COALESCE(${erasedOnSql(manager, id)}, '9999-12-31') > ${date})`;
}
