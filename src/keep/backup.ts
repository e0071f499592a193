import { open, rm, stat } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import { Readable } from 'node:stream';
import { DomainError } from '../base/index.js';
import { fileSealedWith, type Settings } from '../store/index.js';
import { type AddFile, archiveName, type Manifest, writeArchive } from './archive-file.js';
import { sqliteFileOf } from './database-of.js';
import { backupStem } from './kept-backups.js';
import type { Lock } from './locks.js';
import { makeFolder } from './make-folder.js';
import { withScratch } from './scratch.js';
import { copyDatabase, type DatabaseFacts, factsOf, keysNeededBy, photoNamesOf } from './sqlite-file.js';
import { troubleWith } from './trouble.js';

export const BACKUP_FORMAT = 'halfinch-backup';
export const DATABASE_ENTRY = 'halfinch.sqlite';
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

halfinch.sqlite  the database, a SQLite 3 file
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

async function addText(add: AddFile, entry: string, text: string): Promise<void> {
  const bytes = Buffer.from(text);
  await add(entry, bytes.length, Readable.from([bytes]));
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

async function fill(
  add: AddFile,
  settings: Settings,
  copy: string,
  now: number,
): Promise<Omit<BackupManifest, 'files'>> {
  const database = await factsOf(copy);
  const keys = new Set(await keysNeededBy(copy));
  await addText(add, 'README.txt', README);
  await addIfThere(add, DATABASE_ENTRY, copy);
  await addIfThere(add, LINKS_ENTRY, join(settings.dataDir, 'links.key'));
  const missingPhotos: string[] = [];
  for (const name of await photoNamesOf(copy)) {
    const path = join(settings.dataDir, PHOTOS, name);
    if (!(await addIfThere(add, `${PHOTOS}/${name}`, path))) {
      missingPhotos.push(name);
      continue;
    }
    const key = await keyOfFile(path).catch(() => undefined);
    if (key !== undefined) keys.add(key);
  }
  const madeAt = new Date(now).toISOString();
  return { format: BACKUP_FORMAT, version: 1, madeAt, database, keys: [...keys].sort(), missingPhotos };
}

/**
 * Backs an installation up into one file of `folder`, while its server goes on. The database is copied as it stands at
 * one instant; photographs never change once they have their name. Either the whole file has its name in the end, or
 * there is none. Throws KEEP.DISK_FULL, NOT_WRITABLE, NOT_FOUND, NO_DATABASE, RECIPIENT_UNKNOWN.
 */
export async function makeBackup(options: {
  readonly settings: Settings;
  readonly folder: string;
  readonly lock: Lock;
  readonly now: number;
}): Promise<MadeBackup> {
  const { settings, lock, now } = options;
  const folder = resolve(options.folder);
  const file = sqliteFileOf(settings);
  const what = 'The backup';
  await stat(file).catch((error: NodeJS.ErrnoException) => {
    if (error.code !== 'ENOENT') throw troubleWith(error, what, settings.dataDir);
    throw new DomainError(
      'not-found',
      'KEEP.NO_DATABASE',
      `There is no database at ${file}. Name the data folder with --data or HALFINCH_DATA.`,
    );
  });
  try {
    return await withScratch(settings.dataDir, 'snapshot', async (scratch) => {
      const copy = join(scratch, DATABASE_ENTRY);
      await copyDatabase(file, copy);
      try {
        await makeFolder(folder);
        const path = join(folder, archiveName(backupStem(now), lock));
        const written = await writeArchive<BackupManifest>(path, lock, (add) =>
          fill(add, settings, copy, now),
        );
        const photos = written.manifest.files.filter((file) => file.path.startsWith(`${PHOTOS}/`)).length;
        return { path, ...written, photos, encrypted: path.endsWith('.age') };
      } catch (error) {
        throw troubleWith(error, what, folder);
      } finally {
        await rm(copy, { force: true });
      }
    });
  } catch (error) {
    throw troubleWith(error, what, settings.dataDir);
  }
}
