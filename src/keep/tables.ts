import type { DataSource, EntityMetadata } from 'typeorm';

/** Who is signed in, what processes tell each other, whom this installation tells of events, and what was answered within the last day: nothing that another installation could go on with. */
const LEFT_OUT = new Set(['session', 'password_link', 'turn', 'request_key', 'webhook', 'webhook_delivery']);

/** Tables of an export, each after those it refers to. Throws where tables refer to each other in a circle. */
export function exportedTables({ entityMetadatas }: DataSource): EntityMetadata[] {
  const waiting = entityMetadatas
    .filter(({ tableName }) => !LEFT_OUT.has(tableName))
    .sort((one, other) => (one.tableName < other.tableName ? -1 : 1));
  const ordered: EntityMetadata[] = [];
  while (waiting.length > 0) {
    const next = waiting.findIndex((table) =>
      table.foreignKeys.every(
        ({ referencedEntityMetadata: parent }) => parent === table || !waiting.includes(parent),
      ),
    );
    const [table] = waiting.splice(next, 1);
    if (next < 0 || !table) {
      throw new Error(`These tables refer to each other in a circle: ${waiting.map((one) => one.tableName)}`);
    }
    ordered.push(table);
  }
  return ordered;
}

/** Names of the properties of a table's rows, as an export writes them. */
export function propertiesOf(table: EntityMetadata): string[] {
  return table.columns.map(({ propertyPath }) => propertyPath);
}
