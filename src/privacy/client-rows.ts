import { type EntityManager, type EntityMetadata, In, type ObjectLiteral } from 'typeorm';
import { Client } from '../clients/index.js';

/** SQLite binds at most 32,766 values to a statement; this is far below, and a page of rows at a time. */
const CHUNK = 500;

/** Rows of one table that belong to a client, oldest id first. */
export type ClientTable = { readonly metadata: EntityMetadata; readonly rows: readonly ObjectLiteral[] };

/**
 * Everything the database holds of a client: her own row, the rows that point to it, the rows that point to those, and
 * so on. Found by the foreign keys themselves, so that a table added later is not forgotten. Parents come first.
 */
export async function clientRows(manager: EntityManager, clientId: string): Promise<ClientTable[]> {
  const all = manager.connection.entityMetadatas;
  const root = manager.connection.getMetadata(Client);
  const found = new Map<EntityMetadata, Map<string, ObjectLiteral>>();
  let wave = new Map([[root, await readBy(manager, root, 'id', [clientId])]]);
  while (wave.size > 0) {
    const next = new Map<EntityMetadata, ObjectLiteral[]>();
    for (const [parent, rows] of wave) {
      const known = found.get(parent) ?? new Map<string, ObjectLiteral>();
      const fresh = rows.filter((row) => !known.has(String(row['id'])));
      for (const row of fresh) known.set(String(row['id']), row);
      found.set(parent, known);
      const ids = fresh.map((row) => String(row['id']));
      if (ids.length === 0) continue;
      for (const child of all) {
        for (const property of linksTo(child, parent)) {
          const rows = await readBy(manager, child, property, ids);
          if (rows.length > 0) next.set(child, [...(next.get(child) ?? []), ...rows]);
        }
      }
    }
    wave = next;
  }
  return [...found].map(([metadata, rows]) => ({
    metadata,
    rows: [...rows.values()].sort((one, other) => (String(one['id']) < String(other['id']) ? -1 : 1)),
  }));
}

/** Tables whose rows can belong to a client, parents first; without looking at any row. */
export function clientTables(all: readonly EntityMetadata[]): EntityMetadata[] {
  const tables = all.filter(({ target }) => target === Client);
  for (const parent of tables) {
    for (const child of all) {
      if (!tables.includes(child) && linksTo(child, parent).length > 0) tables.push(child);
    }
  }
  return tables;
}

function linksTo(child: EntityMetadata, parent: EntityMetadata): string[] {
  return child.foreignKeys
    .filter(({ referencedEntityMetadata }) => referencedEntityMetadata === parent)
    .flatMap(({ columns }) => columns.map(({ propertyName }) => propertyName));
}

async function readBy(
  manager: EntityManager,
  { target, columns }: EntityMetadata,
  property: string,
  ids: readonly string[],
): Promise<ObjectLiteral[]> {
  // By name, because columns may be left out of every load that does not ask for them.
  const select = Object.fromEntries(columns.map(({ propertyName }) => [propertyName, true]));
  const rows: ObjectLiteral[] = [];
  for (let i = 0; i < ids.length; i += CHUNK) {
    const where = { [property]: In(ids.slice(i, i + CHUNK)) };
    rows.push(...(await manager.find<ObjectLiteral>(target, { where, select })));
  }
  return rows;
}
