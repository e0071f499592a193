import { mkdir, open, readdir, readFile, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { DomainError } from '../base/index.js';
import { keyring } from '../store/index.js';
import { type Encoding, EncodingWatch } from './decode.js';

/** Letters of an id. */
const ID_SIGNS = 36;
const STRAY_AFTER_MS = 60 * 60 * 1000;
const PIECE_BYTES = 512 * 1024;
const PIECE = /^[0-9a-f-]{36}-\d{1,4}\.part$/;

/** No file that is handed in may be larger: 250,000 rows of a client's card need about a third of it. */
export const MOST_FILE_BYTES = 64 * 1024 * 1024;

/** Whether a file of the folder is a piece of a file that was handed in. */
export function isImportPiece(name: string): boolean {
  return PIECE.test(name);
}

export type StoredUpload = { readonly pieces: number; readonly bytes: number; readonly encoding: Encoding };

const NO_ROOM = new Set(['ENOSPC', 'EDQUOT', 'EFBIG']);
const NO_FOLDER = new Set(['EACCES', 'EPERM', 'EROFS', 'ENOTDIR', 'EEXIST', 'ENOENT']);

/** What the disk refuses, in words for whoever can put it right; anything else as it is. */
export function diskWords(error: unknown, folder: string): unknown {
  const code = (error as NodeJS.ErrnoException | null)?.code ?? '';
  if (NO_ROOM.has(code)) {
    return new DomainError(
      'refused',
      'IMPORT.NO_ROOM',
      'The disk is full, or its quota is used up. Nothing was kept. Make room and try again.',
    );
  }
  if (NO_FOLDER.has(code)) {
    return new DomainError(
      'refused',
      'IMPORT.NO_FOLDER',
      `The folder ${folder} cannot be written to. Nothing was kept. Ask whoever looks after this computer to make it writable.`,
    );
  }
  return error;
}

/**
 * Files that were handed in, until they are let go: cut into pieces, each sealed by its name, because a sheet may hold
 * health notes. Reading one back takes the memory of one piece.
 */
export class UploadFiles {
  constructor(private readonly folder: string) {}

  /**
   * Keeps the file under a name of ours. Throws IMPORT.TOO_LARGE, IMPORT.EMPTY, IMPORT.NOT_TEXT, IMPORT.NO_ROOM,
   * IMPORT.NO_FOLDER; nothing of it is left then.
   */
  async store(name: string, bytes: AsyncIterable<Uint8Array>): Promise<StoredUpload> {
    const watch = new EncodingWatch();
    let pieces = 0;
    let size = 0;
    let waiting: Uint8Array[] = [];
    let waitingBytes = 0;
    const flush = async (): Promise<void> => {
      const data = Buffer.concat(waiting, waitingBytes);
      waiting = [];
      waitingBytes = 0;
      await this.write(this.piece(name, pieces), data);
      pieces += 1;
    };
    try {
      await mkdir(this.folder, { recursive: true, mode: 0o700 });
      for await (const some of bytes) {
        watch.see(some);
        size += some.length;
        if (size > MOST_FILE_BYTES) throw tooLarge();
        waiting.push(some);
        waitingBytes += some.length;
        if (waitingBytes >= PIECE_BYTES) await flush();
      }
      if (waitingBytes > 0) await flush();
      if (size === 0) throw DomainError.invalid('IMPORT.EMPTY', 'file', 'File: it is empty. Choose another.');
      const encoding = watch.finish();
      if (!encoding) {
        throw DomainError.invalid(
          'IMPORT.NOT_TEXT',
          'file',
          'File: this is not text. Save a sheet as CSV, contacts as vCard (.vcf), a calendar as iCalendar (.ics).',
        );
      }
      return { pieces, bytes: size, encoding };
    } catch (error) {
      await this.remove(name, pieces + 1).catch(() => undefined);
      throw diskWords(error, this.folder);
    }
  }

  /** The bytes again. Throws IMPORT.FILE_GONE where a piece is missing. */
  async *read(name: string, pieces: number): AsyncGenerator<Uint8Array> {
    for (let i = 0; i < pieces; i += 1) {
      const piece = this.piece(name, i);
      const sealed = await readFile(join(this.folder, piece)).catch((error: NodeJS.ErrnoException) => {
        if (error.code !== 'ENOENT' && error.code !== 'ENOTDIR') throw error;
        throw new DomainError(
          'refused',
          'IMPORT.FILE_GONE',
          'The file is no longer here. Hand it in once more.',
        );
      });
      yield keyring.openBytes(sealed, piece);
    }
  }

  async remove(name: string, pieces: number): Promise<void> {
    for (let i = 0; i < pieces; i += 1) await rm(join(this.folder, this.piece(name, i)), { force: true });
  }

  /** Removes pieces of no known file; younger ones may belong to one that is just being handed in. */
  async removeStrays(known: ReadonlySet<string>): Promise<void> {
    const names = await readdir(this.folder).catch(() => []);
    for (const name of names.filter((one) => isImportPiece(one) && !known.has(one.slice(0, ID_SIGNS)))) {
      const path = join(this.folder, name);
      const { mtimeMs } = await stat(path);
      if (Date.now() - mtimeMs > STRAY_AFTER_MS) await rm(path, { force: true });
    }
  }

  private piece(name: string, i: number): string {
    return `${name}-${i}.part`;
  }

  private async write(piece: string, data: Buffer): Promise<void> {
    const file = await open(join(this.folder, piece), 'wx', 0o600);
    try {
      await file.writeFile(keyring.sealBytes(data, piece));
      await file.sync();
    } finally {
      await file.close();
    }
  }
}

export function tooLarge(): DomainError {
  return DomainError.invalid(
    'IMPORT.TOO_LARGE',
    'file',
    `File: it is larger than ${MOST_FILE_BYTES / 1024 / 1024} MB. Split it, or leave out columns that are not needed.`,
  );
}
