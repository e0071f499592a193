import type { EntityManager, EntityTarget, FindOptionsWhere } from 'typeorm';
import { DomainError } from '../base/index.js';
import type { EditableRow } from './columns.js';
import { isPostgres } from './dialect.js';

/**
 * Loads a row inside a unit of work so that it may be changed and saved.
 * Throws `<code>.NOT_FOUND`, or `<code>.STALE` when `version` is given and somebody saved since it was read.
 */
export async function loadForEdit<T extends EditableRow>(
  manager: EntityManager,
  entity: EntityTarget<T>,
  id: string,
  what: { readonly code: string; readonly name: string },
  version?: number,
): Promise<T> {
  const row = await manager.findOne(entity, {
    where: { id } as FindOptionsWhere<T>,
    ...(isPostgres(manager) && { lock: { mode: 'pessimistic_write' as const } }),
  });
  if (!row) throw DomainError.notFound(`${what.code}.NOT_FOUND`, what.name);
  if (version !== undefined && row.version !== version) {
    throw new DomainError(
      'conflict',
      `${what.code}.STALE`,
      `Somebody changed this ${what.name} while you had it open. Nothing of yours was saved yet: look at the newer one, then save again.`,
      [],
      { version: row.version },
    );
  }
  return row;
}
