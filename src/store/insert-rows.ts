import type { EntityManager, EntityTarget, ObjectLiteral } from 'typeorm';
import { isPostgres } from './dialect.js';

/** SQLite binds at most 32,766 values to a statement, PostgreSQL 65,535. */
const MOST_VALUES = 8000;

/**
 * Inserts many whole rows of one entity in few statements, every column named, transformers applied; several times as
 * fast as `manager.insert`, which names each value.
 */
export async function insertRows<T extends ObjectLiteral>(
  manager: EntityManager,
  entity: EntityTarget<T>,
  rows: readonly T[],
): Promise<void> {
  const { tablePath, columns } = manager.connection.getMetadata(entity);
  const { driver } = manager.connection;
  const names = columns.map(({ databaseName }) => driver.escape(databaseName)).join(', ');
  const numbered = isPostgres(manager);
  const together = Math.max(1, Math.floor(MOST_VALUES / columns.length));
  for (let i = 0; i < rows.length; i += together) {
    const values: unknown[] = [];
    const lines = rows.slice(i, i + together).map((row) => {
      const marks = columns.map((column) => {
        values.push(driver.preparePersistentValue(column.getEntityValue(row) ?? null, column));
        return numbered ? `$${values.length}` : '?';
      });
      return `(${marks.join(', ')})`;
    });
    await manager.query(
      `INSERT INTO ${driver.escape(tablePath)} (${names}) VALUES ${lines.join(', ')}`,
      values,
    );
  }
}
