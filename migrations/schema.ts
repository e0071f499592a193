import { type QueryRunner, Table, type TableColumnOptions, TableForeignKey, TableIndex } from 'typeorm';

/*
 * A small vocabulary for migrations, so that one text makes the same tables on SQLite and PostgreSQL.
 * Frozen: a migration that needs something else brings it along, because old migrations must not change.
 */

type Extra = { readonly nullable?: boolean; readonly default?: string | number | boolean };

export type TableText = {
  readonly name: string;
  readonly columns: readonly TableColumnOptions[];
  readonly links: readonly TableForeignKey[];
  readonly indices: readonly TableIndex[];
};

function column(type: string, name: string, extra: Extra = {}): TableColumnOptions {
  const { nullable = false, default: value } = extra;
  const text = typeof value === 'string' ? `'${value}'` : value;
  return { name, type, isNullable: nullable, ...(value !== undefined && { default: text }) };
}

export const id = (): TableColumnOptions => ({ name: 'id', type: 'varchar', length: '36', isPrimary: true });
export const ref = (name: string, extra?: Extra) => ({ ...column('varchar', name, extra), length: '36' });
export const text = (name: string, length: number, extra?: Extra) => ({
  ...column('varchar', name, extra),
  length: `${length}`,
});
export const words = (name: string, extra?: Extra) => column('text', name, extra);
export const instant = (name: string, extra?: Extra) => column('bigint', name, extra);
export const whole = (name: string, extra?: Extra) => column('integer', name, extra);
export const real = (name: string, extra?: Extra) => column('double precision', name, extra);
export const flag = (name: string, extra?: Extra) => column('boolean', name, extra);

/** Foreign key from one column to another table's id. */
export function link(name: string, table: string, onDelete?: 'CASCADE' | 'SET NULL'): TableForeignKey {
  return new TableForeignKey({
    columnNames: [name],
    referencedTableName: table,
    referencedColumnNames: ['id'],
    ...(onDelete && { onDelete }),
  });
}

export function index(columns: string[], isUnique = false): TableIndex {
  return new TableIndex({ columnNames: columns, isUnique });
}

/** SQLite keeps booleans as 1 and 0 and so must their defaults be written. */
function forDriver(runner: QueryRunner, options: TableColumnOptions): TableColumnOptions {
  if (runner.connection.options.type !== 'sqlite' || typeof options.default !== 'boolean') return options;
  return { ...options, default: options.default ? 1 : 0 };
}

export async function createTables(runner: QueryRunner, tables: readonly TableText[]): Promise<void> {
  for (const { name, columns, links, indices } of tables) {
    await runner.createTable(
      new Table({
        name,
        columns: columns.map((options) => forDriver(runner, options)),
        foreignKeys: [...links],
        indices: [...indices],
      }),
    );
  }
}

export async function dropTables(runner: QueryRunner, tables: readonly TableText[]): Promise<void> {
  for (const { name } of [...tables].reverse()) await runner.dropTable(name);
}
