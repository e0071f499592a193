import { createWriteStream, existsSync } from 'node:fs';
import { copyFile, mkdir, open, readdir, rename, rm, writeFile } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import type { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { DomainError } from '../base/index.js';
import { isPhotoName } from '../photos/index.js';
import { isPostgresUrl, type Settings } from '../store/index.js';
import { damaged, readArchive } from './archive-file.js';
import {
  BACKUP_FORMAT,
  type BackupManifest,
  DATABASE_ENTRY,
  DUMP_ENTRY,
  LINKS_ENTRY,
  PHOTOS,
} from './backup.js';
import type { Opening } from './locks.js';
import { makeFolder } from './make-folder.js';
import { isBarePostgres, restorePostgres } from './postgres-dump.js';
import { withScratch } from './scratch.js';
import { faultsOf } from './sqlite-file.js';
import { troubleWith } from './trouble.js';

/** Lies in the data folder while a restore puts its files in place; what it left half-way is taken away by the next. */
const UNDER_WAY = 'restore-under-way';

async function sync(path: string): Promise<void> {
  const handle = await open(path, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

async function isEmpty(folder: string): Promise<boolean> {
  const names = await readdir(folder).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw error;
  });
  return names.length === 0;
}

/** Throws KEEP.NOT_EMPTY where a database or photographs are already. */
async function requireFresh(settings: Settings): Promise<void> {
  const { dataDir, database } = settings;
  const refuse = (what: string) =>
    new DomainError(
      'conflict',
      'KEEP.NOT_EMPTY',
      `${what} A restore never writes over anything: name a fresh folder with --data or HALFINCH_DATA (and an empty database).`,
    );
  if (isPostgresUrl(database)) {
    if (!(await isBarePostgres(database))) throw refuse('The database at DATABASE_URL has tables already.');
  } else {
    for (const end of ['', '-wal', '-journal']) {
      if (existsSync(database + end)) throw refuse(`There is a database at ${database}${end} already.`);
    }
  }
  const photos = join(dataDir, PHOTOS);
  const left = existsSync(join(dataDir, UNDER_WAY));
  if (!left && !(await isEmpty(photos))) throw refuse(`There are photographs in ${photos} already.`);
  if (!left && existsSync(join(dataDir, LINKS_ENTRY))) {
    throw refuse(`There is a ${LINKS_ENTRY} in ${dataDir} already.`);
  }
}

/** Where a file of the archive goes; throws where it may not be. */
function placeOf(entry: string): string {
  if ([DATABASE_ENTRY, DUMP_ENTRY, LINKS_ENTRY, 'README.txt'].includes(entry)) return entry;
  const name = basename(entry);
  if (entry === `${PHOTOS}/${name}` && isPhotoName(name)) return entry;
  throw damaged(`"${entry}" does not belong into a backup.`);
}

async function unpack(file: string, opening: Opening, into: string): Promise<BackupManifest> {
  await mkdir(join(into, PHOTOS), { mode: 0o700 });
  return await readArchive<BackupManifest>(file, BACKUP_FORMAT, opening, async (entry, content: Readable) => {
    const path = join(into, placeOf(entry));
    await pipeline(content, createWriteStream(path, { flags: 'wx', mode: 0o600, flush: true }));
  });
}

/** Throws KEEP.OTHER_DATABASE where the backup's records are not of the kind that this installation keeps. */
function requireSameKind(folder: string, { database }: Settings): void {
  const [wanted, other] = isPostgresUrl(database)
    ? [DUMP_ENTRY, DATABASE_ENTRY]
    : [DATABASE_ENTRY, DUMP_ENTRY];
  if (existsSync(join(folder, wanted))) return;
  if (!existsSync(join(folder, other))) throw damaged('it holds no database.');
  throw new DomainError(
    'refused',
    'KEEP.OTHER_DATABASE',
    `The backup holds ${other}, this installation keeps ${wanted}: set or unset DATABASE_URL. From one kind of database ` +
      'to the other go by "halfinch export" and "halfinch import archive".',
  );
}

async function requireSound(database: string): Promise<void> {
  const faults = await faultsOf(database);
  if (faults.length > 0) throw damaged(`its database does not hold together: ${faults[0]}`);
}

/** A file's name can be moved within a disk only; onto another one its content is copied. */
async function moveTo(from: string, to: string): Promise<void> {
  try {
    await rename(from, to);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EXDEV') throw error;
    await copyFile(from, to);
    await sync(to);
  }
}

/** The database comes last: until it has its name, the folder holds no installation and a restore may start anew. */
async function putInPlace(from: string, settings: Settings): Promise<void> {
  const { dataDir, database } = settings;
  const mark = join(dataDir, UNDER_WAY);
  await writeFile(mark, 'A restore is putting its files in place, or was cut short. Run it again.\n', {
    flush: true,
  });
  await rm(join(dataDir, PHOTOS), { recursive: true, force: true });
  await rename(join(from, PHOTOS), join(dataDir, PHOTOS));
  if (existsSync(join(from, LINKS_ENTRY))) await rename(join(from, LINKS_ENTRY), join(dataDir, LINKS_ENTRY));
  await sync(dataDir);
  if (isPostgresUrl(database)) {
    await restorePostgres(database, join(from, DUMP_ENTRY));
  } else {
    const next = `${database}.restored`;
    await moveTo(join(from, DATABASE_ENTRY), next);
    await rename(next, database);
    await sync(dirname(database));
  }
  await rm(mark);
}

/**
 * Brings a backup back into a data folder without database or photographs; keys may lie there already. Everything is
 * unpacked beside and checked first (checksums, SQLite's own checks), then given its name, the database last. Throws
 * KEEP.NOT_EMPTY, what `readArchive` throws, KEEP.DISK_FULL, NOT_WRITABLE; then there is no installation there, and
 * the command may be run again.
 */
export async function restoreBackup(options: {
  readonly settings: Settings;
  readonly file: string;
  readonly opening: Opening;
}): Promise<BackupManifest> {
  const { settings, file, opening } = options;
  try {
    await requireFresh(settings);
    await makeFolder(isPostgresUrl(settings.database) ? settings.dataDir : dirname(settings.database));
    return await withScratch(settings.dataDir, 'restoring', async (scratch) => {
      const manifest = await unpack(file, opening, scratch);
      requireSameKind(scratch, settings);
      if (!isPostgresUrl(settings.database)) await requireSound(join(scratch, DATABASE_ENTRY));
      await putInPlace(scratch, settings);
      return manifest;
    });
  } catch (error) {
    throw troubleWith(error, 'The restore', settings.dataDir);
  }
}

/**
 * Reads a backup through, compares every checksum and has SQLite check the database, in a folder under `scratch` that
 * is gone afterwards. Throws as `restoreBackup` does.
 */
export async function verifyBackup(options: {
  readonly file: string;
  readonly opening: Opening;
  readonly scratch: string;
}): Promise<BackupManifest> {
  const { file, opening, scratch } = options;
  try {
    return await withScratch(scratch, 'verifying', async (folder) => {
      let database: string | undefined;
      // Of a dump only its checksum is compared: whether it can be read is for pg_restore to say.
      let hasDump = false;
      const manifest = await readArchive<BackupManifest>(
        file,
        BACKUP_FORMAT,
        opening,
        async (entry, content) => {
          const place = placeOf(entry);
          hasDump ||= place === DUMP_ENTRY;
          if (place === DATABASE_ENTRY) {
            database = join(folder, place);
            await pipeline(content, createWriteStream(database, { flags: 'wx', mode: 0o600 }));
          } else {
            for await (const _ of content);
          }
        },
      );
      if (database === undefined && !hasDump) throw damaged('it holds no database.');
      if (database !== undefined) await requireSound(database);
      return manifest;
    });
  } catch (error) {
    throw troubleWith(error, 'The check', scratch);
  }
}
