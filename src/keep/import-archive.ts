import { join } from 'node:path';
import { createInterface } from 'node:readline';
import type { Readable } from 'node:stream';
import type { EntityManager, EntityMetadata, ObjectLiteral } from 'typeorm';
import { DomainError } from '../base/index.js';
import { isPhotoName, PhotoFiles } from '../photos/index.js';
import { insertRows, type Settings, type Sources, UnitOfWork } from '../store/index.js';
import { damaged, readArchive } from './archive-file.js';
import { EXPORT_FORMAT, type ExportManifest, schemaOf } from './export-archive.js';
import type { Opening } from './locks.js';
import { exportedTables, propertiesOf } from './tables.js';
import { troubleWith } from './trouble.js';

const ROWS_TOGETHER = 1000;
const LARGEST_PHOTO_BYTES = 64 * 1024 * 1024;

async function requireEmpty(manager: EntityManager, tables: readonly EntityMetadata[]): Promise<void> {
  for (const { target, tableName } of tables) {
    if ((await manager.count(target)) === 0) continue;
    throw new DomainError(
      'conflict',
      'KEEP.NOT_EMPTY',
      `This installation holds records already (${tableName}). An archive is imported into an empty one only: name a ` +
        'fresh folder with --data, or an empty database.',
    );
  }
}

function rowFrom(line: string, table: EntityMetadata, where: string): ObjectLiteral {
  let row: unknown;
  try {
    row = JSON.parse(line);
  } catch {
    throw damaged(`${where} is no JSON.`);
  }
  const given = Object.keys((row ?? {}) as object).sort();
  const wanted = propertiesOf(table).sort();
  if (given.join() !== wanted.join())
    throw damaged(`${where} does not have the columns of ${table.tableName}.`);
  return row as ObjectLiteral;
}

async function takeTable(
  manager: EntityManager,
  table: EntityMetadata,
  path: string,
  content: Readable,
): Promise<number> {
  let rows: ObjectLiteral[] = [];
  let count = 0;
  for await (const line of createInterface({ input: content, crlfDelay: Number.POSITIVE_INFINITY })) {
    if (line === '') continue;
    count += 1;
    rows.push(rowFrom(line, table, `Line ${count} of ${path}`));
    if (rows.length < ROWS_TOGETHER) continue;
    await insertRows(manager, table.target, rows);
    rows = [];
  }
  if (rows.length > 0) await insertRows(manager, table.target, rows);
  return count;
}

async function bytesOf(path: string, content: Readable): Promise<Buffer> {
  const chunks: Buffer[] = [];
  let bytes = 0;
  for await (const chunk of content as AsyncIterable<Buffer>) {
    bytes += chunk.length;
    if (bytes > LARGEST_PHOTO_BYTES) throw damaged(`${path} is too large for a photograph.`);
    chunks.push(chunk);
  }
  return Buffer.concat(chunks);
}

/** What the archive says it holds against what was taken. */
function requireWhole(manifest: ExportManifest, taken: ReadonlyMap<string, number>, schema: string): void {
  if (manifest.schema !== schema) {
    throw new DomainError(
      'refused',
      'KEEP.OTHER_SCHEMA',
      `This archive was written by a version with the schema ${manifest.schema}; here it is ${schema}. Import it with ` +
        'that version, then update.',
    );
  }
  for (const { name, rows } of manifest.tables) {
    const count = taken.get(name) ?? 0;
    if (count !== rows) throw damaged(`${name} has ${count} rows instead of ${rows}.`);
  }
}

/**
 * Imports an archive that `exportArchive` wrote into an empty installation, of either database: all of it in one
 * transaction, or nothing. Sealed words and photographs are sealed with this installation's key. Throws
 * KEEP.NOT_EMPTY, OTHER_SCHEMA, what `readArchive` throws, DISK_FULL and the like; then no record is there.
 */
export async function importArchive(options: {
  readonly sources: Sources;
  readonly settings: Settings;
  readonly file: string;
  readonly opening: Opening;
}): Promise<ExportManifest> {
  const { sources, settings, file, opening } = options;
  const tables = exportedTables(sources.writer);
  const byName = new Map(tables.map((table) => [table.tableName, table]));
  const photos = new PhotoFiles(join(settings.dataDir, 'photos'));
  try {
    return await new UnitOfWork(sources.writer).run(async (manager) => {
      await requireEmpty(manager, tables);
      const schema = await schemaOf(manager);
      const taken = new Map<string, number>();
      const manifest = await readArchive<ExportManifest>(
        file,
        EXPORT_FORMAT,
        opening,
        async (path, content) => {
          const [, name = '', photo = ''] =
            /^(?:tables\/(\w+)\/\d{4,}\.jsonl|photos\/([\w.-]+))$/.exec(path) ?? [];
          const table = byName.get(name);
          if (table) {
            taken.set(name, (taken.get(name) ?? 0) + (await takeTable(manager, table, path, content)));
          } else if (isPhotoName(photo)) {
            const data = await bytesOf(path, content);
            // One that an import left that was cut short.
            await photos.remove(photo);
            await photos.prepare(photo, data);
            await photos.settle(photo);
          } else if (path === 'README.md') {
            for await (const _ of content);
          } else {
            throw damaged(`"${path}" does not belong into an export.`);
          }
        },
      );
      requireWhole(manifest, taken, schema);
      return manifest;
    });
  } catch (error) {
    throw troubleWith(error, 'The import', settings.dataDir);
  }
}
