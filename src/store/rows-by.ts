import type { EntityManager, EntityTarget, ObjectLiteral } from 'typeorm';

type Columns = ReturnType<EntityManager['connection']['getMetadata']>['columns'];

/** What `manager.query` gives back of an entity's table, columns under their own names, as entities. */
export function asEntities<T extends ObjectLiteral>(
  manager: EntityManager,
  entity: EntityTarget<T>,
  raws: readonly Readonly<Record<string, unknown>>[],
  columns: Columns = manager.connection.getMetadata(entity).columns,
): T[] {
  const { driver } = manager.connection;
  const { prototype } = manager.connection.getMetadata(entity).target as { readonly prototype: object };
  return raws.map((raw) => {
    // Not by its constructor, which would make up an id.
    const row: Record<string, unknown> = Object.create(prototype);
    for (const column of columns) {
      row[column.propertyName] = driver.prepareHydratedValue(raw[column.databaseName], column);
    }
    return row as T;
  });
}

/**
 * Rows of one entity whose `key` is one of `values`, in no order, transformers applied; `only` these columns where it is
 * given. The same as `manager.findBy` with `In`, at a fraction of its cost, for what is asked for every message.
 */
export async function rowsBy<T extends ObjectLiteral>(
  manager: EntityManager,
  entity: EntityTarget<T>,
  key: keyof T & string,
  values: readonly string[],
  only?: readonly (keyof T & string)[],
): Promise<T[]> {
  if (values.length === 0) return [];
  const { tablePath, columns: all } = manager.connection.getMetadata(entity);
  const { driver } = manager.connection;
  const columns = only ? all.filter(({ propertyName }) => only.includes(propertyName)) : all;
  const names = columns.map(({ databaseName }) => driver.escape(databaseName)).join(', ');
  const marks = values.map((_, i) => `$${i + 1}`).join(', ');
  const raws: Record<string, unknown>[] = await manager.query(
    `SELECT ${names} FROM ${driver.escape(tablePath)} WHERE ${driver.escape(key)} IN (${marks})`,
    [...values],
  );
  return asEntities(manager, entity, raws, columns);
}
