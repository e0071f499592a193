import { randomBytes } from 'node:crypto';
import { mkdir, open, readdir, readFile, rename, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { KeyError, keyring } from '../store/index.js';

const NAME = /^[\w-]{43}\.jpg$/;
const TEMPORARY = '.part';
/** Younger files may belong to a transaction that is not committed yet. */
const ORPHAN_AFTER_MS = 60 * 60 * 1000;

/** A name of 256 random bits: it can neither be guessed nor tell whose picture it is. */
export function newPhotoName(): string {
  return `${randomBytes(32).toString('base64url')}.jpg`;
}

/** Whether a file of the folder is a photograph that has its name. */
export function isPhotoName(name: string): boolean {
  return NAME.test(name);
}

/** The folder of photographs beside the database, sealed by their names. Every file in it has a row, or is swept away. */
export class PhotoFiles {
  constructor(private readonly folder: string) {}

  /** Writes a temporary file and waits until it is on the disk. */
  async prepare(name: string, data: Buffer): Promise<void> {
    await mkdir(this.folder, { recursive: true, mode: 0o700 });
    const file = await open(this.path(name) + TEMPORARY, 'wx', 0o600);
    try {
      await file.writeFile(keyring.sealBytes(data, name));
      await file.sync();
    } finally {
      await file.close();
    }
  }

  /** Gives a prepared file its name; to be called before its row is committed, so that no row is without a file. */
  async settle(name: string): Promise<void> {
    await rename(this.path(name) + TEMPORARY, this.path(name));
    const folder = await open(this.folder, 'r');
    try {
      await folder.sync();
    } finally {
      await folder.close();
    }
  }

  /** Removes the file and what was prepared for it; nothing happens where there is none. */
  async remove(name: string): Promise<void> {
    await rm(this.path(name), { force: true });
    await rm(this.path(name) + TEMPORARY, { force: true });
  }

  /** The bytes; undefined where the file is gone, or its key. */
  async read(name: string): Promise<Buffer | undefined> {
    try {
      return keyring.openBytes(await readFile(this.path(name)), name);
    } catch (error) {
      if (error instanceof KeyError) return undefined;
      if ((error as NodeJS.ErrnoException).code === 'ENOENT') return undefined;
      throw error;
    }
  }

  /** Removes files of photographs that are not among `names` and older than an hour at `now`. Returns how many. */
  async sweep(names: ReadonlySet<string>, now: number): Promise<number> {
    let removed = 0;
    for (const entry of await this.entries()) {
      const name = entry.endsWith(TEMPORARY) ? entry.slice(0, -TEMPORARY.length) : entry;
      if (!NAME.test(name) || names.has(entry)) continue;
      const path = join(this.folder, entry);
      const { mtimeMs } = await stat(path);
      if (now - mtimeMs < ORPHAN_AFTER_MS) continue;
      await rm(path, { force: true });
      removed += 1;
    }
    return removed;
  }

  private async entries(): Promise<string[]> {
    try {
      return await readdir(this.folder);
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
      throw error;
    }
  }

  private path(name: string): string {
    if (!NAME.test(name)) throw new Error('Not the name of a photograph.');
    return join(this.folder, name);
  }
}
