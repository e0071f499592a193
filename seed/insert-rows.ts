import type { EntityManager, EntityTarget, ObjectLiteral } from 'typeorm';

/** Values that one statement carries; PostgreSQL allows 65,535 and SQLite 32,766. */
const VALUES_PER_STATEMENT = 8_000;

/**
 * Inserts rows that are complete already, many a statement. The ORM's own insert would take most of a minute for
 * the demo's rows; the values are still prepared by the ORM's driver, column by column.
 */
export async function insertRows<T extends ObjectLiteral>(
  manager: EntityManager,
  entity: EntityTarget<T>,
  rows: readonly T[],
): Promise<void> {
  const { driver } = manager.connection;
  const { columns, tablePath } = manager.connection.getMetadata(entity);
  const names = columns.map((column) => driver.escape(column.databaseName)).join(', ');
  const perStatement = Math.floor(VALUES_PER_STATEMENT / columns.length);
  for (let from = 0; from < rows.length; from += perStatement) {
    const values: unknown[] = [];
    const tuples = rows.slice(from, from + perStatement).map((row) => {
      const marks = columns.map((column) => {
        values.push(driver.preparePersistentValue(column.getEntityValue(row), column) ?? null);
        return driver.createParameter('value', values.length - 1);
      });
      return `(${marks.join(', ')})`;
    });
    await manager.query(
      `INSERT INTO ${driver.escape(tablePath)} (${names}) VALUES ${tuples.join(', ')}`,
      values,
    );
  }
}
