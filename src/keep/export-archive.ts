import { readFile } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { Readable } from 'node:stream';
import type { EntityManager, EntityMetadata, ObjectLiteral } from 'typeorm';
import { Photo } from '../photos/index.js';
import { isPostgres, keyring, type Settings, type Sources } from '../store/index.js';
import { type AddFile, addText, archiveName, type Manifest, writeArchive } from './archive-file.js';
import { exportReadme } from './export-readme.js';
import type { Lock } from './locks.js';
import { makeFolder } from './make-folder.js';
import { exportedTables, propertiesOf } from './tables.js';
import { troubleWith } from './trouble.js';

export const EXPORT_FORMAT = 'halfinch-export';
/** Rows a file; they are in memory at a time. */
const ROWS_PER_FILE = 20_000;
const ROWS_PER_QUESTION = 1000;

export type ExportManifest = Manifest & {
  /** Name of the newest migration. */
  readonly schema: string;
  readonly tables: readonly {
    readonly name: string;
    readonly columns: readonly string[];
    readonly rows: number;
  }[];
  /** Photographs whose file was gone or whose key was. */
  readonly missingPhotos: readonly string[];
};

export type MadeExport = {
  readonly path: string;
  readonly bytes: number;
  readonly sha256: string;
  readonly encrypted: boolean;
  readonly manifest: ExportManifest;
};

async function* rowsOf(manager: EntityManager, table: EntityMetadata): AsyncGenerator<ObjectLiteral[]> {
  const [key] = table.primaryColumns;
  if (!key || table.primaryColumns.length !== 1) throw new Error(`${table.tableName} has no single key.`);
  let last: unknown;
  for (;;) {
    const query = manager
      .createQueryBuilder(table.target, 'row')
      // By name, because columns may be left out of every load that does not ask for them.
      .select(table.columns.map(({ propertyPath }) => `row.${propertyPath}`))
      .orderBy(`row.${key.propertyPath}`, 'ASC')
      .limit(ROWS_PER_QUESTION);
    if (last !== undefined) query.where(`row.${key.propertyPath} > :last`, { last });
    const rows = (await query.getMany()) as ObjectLiteral[];
    if (rows.length > 0) yield rows;
    if (rows.length < ROWS_PER_QUESTION) return;
    last = key.getEntityValue(rows[rows.length - 1] as ObjectLiteral);
  }
}

function lineOf(table: EntityMetadata, row: ObjectLiteral): string {
  const values = table.columns.map((column) => [column.propertyPath, column.getEntityValue(row) ?? null]);
  return JSON.stringify(Object.fromEntries(values));
}

async function addTable(add: AddFile, manager: EntityManager, table: EntityMetadata): Promise<number> {
  let lines: string[] = [];
  let files = 0;
  let count = 0;
  const flush = async () => {
    if (lines.length === 0) return;
    files += 1;
    const name = `tables/${table.tableName}/${String(files).padStart(4, '0')}.jsonl`;
    const text = `${lines.join('\n')}\n`;
    lines = [];
    await addText(add, name, text);
  };
  for await (const rows of rowsOf(manager, table)) {
    for (const row of rows) lines.push(lineOf(table, row));
    count += rows.length;
    if (lines.length >= ROWS_PER_FILE) await flush();
  }
  await flush();
  return count;
}

/** Adds the pictures, opened; returns the names of those that cannot be. */
async function addPhotos(add: AddFile, manager: EntityManager, folder: string): Promise<string[]> {
  const missing: string[] = [];
  const photos = await manager.find(Photo, { select: { id: true, file: true }, order: { file: 'ASC' } });
  for (const { file } of photos) {
    const data = await readFile(join(folder, file)).then(
      (stored) => keyring.openBytes(stored, file),
      () => undefined,
    );
    if (data) await add(`photos/${file}`, data.length, Readable.from([data]));
    else missing.push(file);
  }
  return missing;
}

/** Name of the newest migration a database has had. */
export async function schemaOf(manager: EntityManager): Promise<string> {
  const [newest] = await manager.query<{ name: string }[]>(
    'SELECT name FROM schema_migration ORDER BY "timestamp" DESC LIMIT 1',
  );
  return newest?.name ?? '';
}

/**
 * Writes everything an installation keeps into one archive of open formats, as it stands at one instant, from either
 * database. Sealed words and photographs are opened. Throws KeyError where a key is missing, KEEP.DISK_FULL and the like.
 */
export async function exportArchive(options: {
  readonly sources: Sources;
  readonly settings: Settings;
  readonly folder: string;
  readonly lock: Lock;
  readonly now: number;
}): Promise<MadeExport> {
  const { sources, settings, lock, now } = options;
  const folder = resolve(options.folder);
  const madeAt = new Date(now).toISOString();
  const stem = `halfinch-export-${madeAt.slice(0, 19).replaceAll(/[-:]/g, '')}Z`;
  const path = join(folder, archiveName(stem, lock));
  const isolation = isPostgres(sources.reader) ? 'REPEATABLE READ' : 'SERIALIZABLE';
  try {
    await makeFolder(folder);
    const written = await sources.reader.transaction(isolation, (manager) =>
      writeArchive<ExportManifest>(path, lock, async (add) => {
        const tables = exportedTables(sources.reader);
        await addText(add, 'README.md', exportReadme(tables));
        const counted: ExportManifest['tables'][number][] = [];
        for (const table of tables) {
          const rows = await addTable(add, manager, table);
          counted.push({ name: table.tableName, columns: propertiesOf(table), rows });
        }
        const missingPhotos = await addPhotos(add, manager, join(settings.dataDir, 'photos'));
        const schema = await schemaOf(manager);
        return { format: EXPORT_FORMAT, version: 1, madeAt, schema, tables: counted, missingPhotos };
      }),
    );
    return { path, ...written, encrypted: path.endsWith('.age') };
  } catch (error) {
    throw troubleWith(error, 'The export', folder);
  }
}
