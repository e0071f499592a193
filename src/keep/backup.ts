import { open, stat } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { DomainError } from '../base/index.js';
import { fileSealedWith, isPostgresUrl, type Settings } from '../store/index.js';
import { type AddFile, addText, archiveName, type Manifest, writeArchive } from './archive-file.js';
import { backupStem } from './kept-backups.js';
import type { Lock } from './locks.js';
import { makeFolder } from './make-folder.js';
import { type DumpFacts, dumpPostgres } from './postgres-dump.js';
import { withScratch } from './scratch.js';
import { copyDatabase, type DatabaseFacts, factsOf, keysNeededBy, photoNamesOf } from './sqlite-file.js';
import { troubleWith } from './trouble.js';

export const BACKUP_FORMAT = 'halfinch-backup';
export const DATABASE_ENTRY = 'halfinch.sqlite';
export const DUMP_ENTRY = 'halfinch.pgdump';
export const LINKS_ENTRY = 'links.key';
export const PHOTOS = 'photos';

export type BackupManifest = Manifest & {
  readonly database: DatabaseFacts;
  /** Ids of the keys without which health words and photographs stay sealed. */
  readonly keys: readonly string[];
  /** Photographs that were removed while the backup was made. */
  readonly missingPhotos: readonly string[];
};

export type MadeBackup = {
  readonly path: string;
  readonly bytes: number;
  readonly sha256: string;
  readonly photos: number;
  readonly encrypted: boolean;
  readonly manifest: BackupManifest;
};

const README = `A backup that Halfinch made.

halfinch.sqlite  the database, a SQLite 3 file; or
halfinch.pgdump  the database as pg_dump wrote it (custom format)
photos/          photographs of visits, sealed with the key of the health words
links.key        signs links in messages that were sent
manifest.json    size and SHA-256 of each file, and the ids of the keys that are needed

Bring it back with:  halfinch restore FILE --data NEW-FOLDER
The key of the health words is not in here: put your copy of it where HALFINCH_KEY_FILE says.
`;

/** Start of a sealed file says which key opens it. */
async function keyOfFile(path: string): Promise<string | undefined> {
  const file = await open(path, 'r');
  try {
    const { buffer, bytesRead } = await file.read(Buffer.alloc(64), 0, 64, 0);
    return fileSealedWith(buffer.subarray(0, bytesRead));
  } finally {
    await file.close();
  }
}

/** Adds the file unless it is gone; false where it is. */
async function addIfThere(add: AddFile, entry: string, path: string): Promise<boolean> {
  const file = await open(path, 'r').catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return undefined;
    throw error;
  });
  if (!file) return false;
  const { size } = await file.stat();
  await add(entry, size, file.createReadStream());
  return true;
}

type Copied = DumpFacts & { readonly entry: string; readonly path: string };

/** The records as they stand at one instant, in a file of their own. */
async function copyRecords({ database }: Settings, scratch: string): Promise<Copied> {
  const entry = isPostgresUrl(database) ? DUMP_ENTRY : DATABASE_ENTRY;
  const path = join(scratch, entry);
  if (isPostgresUrl(database)) return { entry, path, ...(await dumpPostgres(database, path)) };
  await copyDatabase(database, path);
  return {
    entry,
    path,
    facts: await factsOf(path),
    keys: await keysNeededBy(path),
    photos: await photoNamesOf(path),
  };
}

async function fill(
  add: AddFile,
  settings: Settings,
  copied: Copied,
  now: number,
): Promise<Omit<BackupManifest, 'files'>> {
  const keys = new Set(copied.keys);
  await addText(add, 'README.txt', README);
  await addIfThere(add, copied.entry, copied.path);
  await addIfThere(add, LINKS_ENTRY, join(settings.dataDir, 'links.key'));
  const missingPhotos: string[] = [];
  for (const name of copied.photos) {
    const path = join(settings.dataDir, PHOTOS, name);
    if (!(await addIfThere(add, `${PHOTOS}/${name}`, path))) {
      missingPhotos.push(name);
      continue;
    }
    const key = await keyOfFile(path).catch(() => undefined);
    if (key !== undefined) keys.add(key);
  }
  const madeAt = new Date(now).toISOString();
  const database = copied.facts;
  return { format: BACKUP_FORMAT, version: 1, madeAt, database, keys: [...keys].sort(), missingPhotos };
}

/** Throws KEEP.NO_DATABASE where there is no file to be copied. */
async function requireDatabase({ database, dataDir }: Settings): Promise<void> {
  if (isPostgresUrl(database)) return;
  await stat(database).catch((error: NodeJS.ErrnoException) => {
    if (error.code !== 'ENOENT') throw troubleWith(error, 'The backup', dataDir);
    throw new DomainError(
      'not-found',
      'KEEP.NO_DATABASE',
      `There is no database at ${database}. Name the data folder with --data or HALFINCH_DATA.`,
    );
  });
}

/**
 * Backs an installation up into one file of `folder`, while its server goes on. The database is copied as it stands at
 * one instant; photographs never change once they have their name. Either the whole file has its name in the end, or
 * there is none. Throws KEEP.DISK_FULL, NOT_WRITABLE, NOT_FOUND, NO_DATABASE,
 * RECIPIENT_UNKNOWN; on PostgreSQL TOOL_MISSING and TOOL_FAILED.
 */
export async function makeBackup(options: {
  readonly settings: Settings;
  readonly folder: string;
  readonly lock: Lock;
  readonly now: number;
}): Promise<MadeBackup> {
  const { settings, lock, now } = options;
  const folder = resolve(options.folder);
  const what = 'The backup';
  await requireDatabase(settings);
  try {
    return await withScratch(settings.dataDir, 'snapshot', async (scratch) => {
      const copied = await copyRecords(settings, scratch);
      try {
        await makeFolder(folder);
        const path = join(folder, archiveName(backupStem(now), lock));
        const written = await writeArchive<BackupManifest>(path, lock, (add) =>
          fill(add, settings, copied, now),
        );
        const photos = written.manifest.files.filter((file) => file.path.startsWith(`${PHOTOS}/`)).length;
        return { path, ...written, photos, encrypted: path.endsWith('.age') };
      } catch (error) {
        throw troubleWith(error, what, folder);
      }
    });
  } catch (error) {
    throw troubleWith(error, what, settings.dataDir);
  }
}
