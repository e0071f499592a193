import type { EntityManager, EntityTarget, FindOptionsWhere } from 'typeorm';
import { DomainError } from '../base/index.js';
import type { EditableRow } from './columns.js';

/**
 * Loads a row inside a unit of work, of which there is one at a time, so that it may be changed and saved.
 * Throws `<code>.NOT_FOUND`, or `<code>.STALE` when `version` is given and somebody saved since it was read.
 */
export async function loadForEdit<T extends EditableRow>(
  manager: EntityManager,
  entity: EntityTarget<T>,
  id: string,
  what: { readonly code: string; readonly name: string },
  version?: number,
): Promise<T> {
  const row = await manager.findOneBy(entity, { id } as FindOptionsWhere<T>);
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
