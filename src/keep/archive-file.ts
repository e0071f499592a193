import { createHash } from 'node:crypto';
import { createReadStream, createWriteStream } from 'node:fs';
import { open, rename } from 'node:fs/promises';
import { basename, dirname, join } from 'node:path';
import { Readable, Transform } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { createGunzip, createGzip } from 'node:zlib';
import tar from 'tar-stream';
import { DomainError } from '../base/index.js';
import { isAge, isLocking, type Lock, locked, type Opening, unlocked } from './locks.js';
import { withScratch } from './scratch.js';

/** One file of an archive, as its manifest lists it. */
export type Listed = { readonly path: string; readonly bytes: number; readonly sha256: string };

/** What every manifest has; `format` says what kind of archive it is. */
export type Manifest = {
  readonly format: string;
  readonly version: number;
  /** ISO 8601, UTC. */
  readonly madeAt: string;
  readonly files: readonly Listed[];
};

/** Adds a file; `bytes` must be its exact size. */
export type AddFile = (path: string, bytes: number, content: Readable) => Promise<void>;

export const MANIFEST = 'manifest.json';
const LARGEST_MANIFEST_BYTES = 256 * 1024 * 1024;
/** What is in there is mostly sealed photographs, which no level makes smaller. */
const GZIP_LEVEL = 3;

type Measure = { readonly tap: Transform; readonly listed: () => { bytes: number; sha256: string } };

function measuring(): Measure {
  const hash = createHash('sha256');
  let bytes = 0;
  let sha256: string | undefined;
  const tap = new Transform({
    transform(chunk: Buffer, _encoding, done) {
      hash.update(chunk);
      bytes += chunk.length;
      done(null, chunk);
    },
  });
  return {
    tap,
    listed: () => {
      sha256 ??= hash.digest('hex');
      return { bytes, sha256 };
    },
  };
}

/** A rename is kept only once its folder is on the disk too. */
async function settle(part: string, path: string): Promise<void> {
  await rename(part, path);
  const folder = await open(dirname(path), 'r');
  try {
    await folder.sync();
  } finally {
    await folder.close();
  }
}

export type Written<M> = { readonly bytes: number; readonly sha256: string; readonly manifest: M };

/**
 * Writes a tar.gz archive (POSIX ustar/pax, RFC 1952), encrypted in the age format where there is a lock. `fill` adds
 * the files and returns what the manifest says besides; the manifest comes last. The file has its name only once
 * everything is on the disk, and whatever fails leaves none.
 */
export async function writeArchive<M extends Manifest>(
  path: string,
  lock: Lock,
  fill: (add: AddFile) => Promise<Omit<M, 'files'>>,
): Promise<Written<M>> {
  return await withScratch(dirname(path), 'writing', async (scratch) => {
    const part = join(scratch, basename(path));
    const written = await writePart(part, lock, fill);
    await settle(part, path);
    return written;
  });
}

async function writePart<M extends Manifest>(
  part: string,
  lock: Lock,
  fill: (add: AddFile) => Promise<Omit<M, 'files'>>,
): Promise<Written<M>> {
  const pack = tar.pack();
  const gzip = createGzip({ level: GZIP_LEVEL });
  const files: Listed[] = [];
  const add: AddFile = async (name, bytes, content) => {
    const { tap, listed } = measuring();
    const entry = pack.entry({ name, size: bytes, mode: 0o600 });
    await pipeline(content, tap, entry);
    files.push({ path: name, ...listed() });
  };
  const filling = async (): Promise<M> => {
    const manifest = { ...(await fill(add)), files: [...files] } as unknown as M;
    const text = Buffer.from(`${JSON.stringify(manifest, null, 1)}\n`);
    await add(MANIFEST, text.length, Readable.from([text]));
    pack.finalize();
    return manifest;
  };
  const whole = measuring();
  const file = createWriteStream(part, { flags: 'w', mode: 0o600, flush: true });
  const out = await locked(gzip, lock);
  const flowing = [pipeline(pack, gzip), pipeline(out, whole.tap, file)];
  const filled = filling();
  try {
    const [manifest] = await Promise.all([filled, ...flowing]);
    return { ...whole.listed(), manifest };
  } catch (error) {
    pack.destroy(error as Error);
    gzip.destroy();
    file.destroy();
    await Promise.allSettled(flowing);
    filled.catch(() => undefined);
    throw error;
  }
}

/** Adds a file that is a text. */
export async function addText(add: AddFile, path: string, text: string): Promise<void> {
  const bytes = Buffer.from(text);
  await add(path, bytes.length, Readable.from([bytes]));
}

function cutShort(): DomainError {
  return new DomainError(
    'refused',
    'KEEP.CUT_SHORT',
    'The file ends too early: it was cut short, such as by a copy that did not finish. Take another copy of it.',
  );
}

export function damaged(what: string): DomainError {
  return new DomainError(
    'refused',
    'KEEP.DAMAGED',
    `The file is damaged or was changed after it was made: ${what} Use another copy or an older one.`,
  );
}

const UNSOUND =
  'its encryption or its packing does not hold (an encrypted file that was cut short says so too).';

/** What zlib, tar and age say of a file that is not whole. */
function plainly(error: unknown): unknown {
  if (error instanceof DomainError) return error;
  const { code = '', message = '' } = error as { code?: string; message?: string };
  if (code === 'Z_BUF_ERROR' || /unexpected end of (file|data)/i.test(message)) return cutShort();
  if (code.startsWith('Z_')) return damaged('it cannot be unpacked.');
  if (
    /invalid tag|invalid header|stanza|HMAC|invalid tar|checksum|final chunk|version line|too small/i.test(
      message,
    )
  ) {
    return damaged(UNSOUND);
  }
  return error;
}

/** What is wrong with an encrypted file's head, whose reader has many words for it; trouble of the disk stays what it is. */
function plainlyOfHead(error: unknown): unknown {
  const told = plainly(error);
  if (told instanceof DomainError || (told instanceof Error && 'errno' in told)) return told;
  return damaged(UNSOUND);
}

async function startOf(path: string): Promise<Buffer> {
  const file = await open(path, 'r');
  try {
    const { buffer, bytesRead } = await file.read(Buffer.alloc(32), 0, 32, 0);
    return buffer.subarray(0, bytesRead);
  } finally {
    await file.close();
  }
}

async function wholeText(content: Readable): Promise<string> {
  const chunks: Buffer[] = [];
  let bytes = 0;
  for await (const chunk of content as AsyncIterable<Buffer>) {
    bytes += chunk.length;
    if (bytes > LARGEST_MANIFEST_BYTES) throw damaged('its list of files is too large.');
    chunks.push(chunk);
  }
  return Buffer.concat(chunks).toString('utf8');
}

function manifestFrom(text: string, format: string): Manifest {
  let manifest: Partial<Manifest>;
  try {
    manifest = JSON.parse(text) as Partial<Manifest>;
  } catch {
    throw damaged('its list of files cannot be read.');
  }
  if (manifest.format !== format) {
    throw new DomainError(
      'refused',
      'KEEP.OTHER_FORMAT',
      `This archive is of the kind "${String(manifest.format)}", not "${format}".`,
    );
  }
  if (manifest.version !== 1) {
    throw new DomainError(
      'refused',
      'KEEP.NEWER_FORMAT',
      `This archive has version ${String(manifest.version)}; this Halfinch knows version 1. Use a newer Halfinch.`,
    );
  }
  if (!Array.isArray(manifest.files)) throw damaged('its list of files is missing.');
  return manifest as Manifest;
}

function compare(found: ReadonlyMap<string, Omit<Listed, 'path'>>, listed: readonly Listed[]): void {
  for (const { path, bytes, sha256 } of listed) {
    const file = found.get(path);
    if (!file) throw damaged(`${path} is missing.`);
    if (file.bytes !== bytes || file.sha256 !== sha256) throw damaged(`${path} is not what it was.`);
  }
  const extra = [...found.keys()].find((path) => !listed.some((file) => file.path === path));
  if (found.size !== listed.length) throw damaged(`${extra ?? 'a file'} does not belong to it.`);
}

/**
 * Waits until all of it is over, then throws what failed first: whoever takes must not go on in a transaction that was
 * rolled back meanwhile.
 */
async function over(...work: readonly Promise<unknown>[]): Promise<void> {
  const failures: unknown[] = [];
  await Promise.all(work.map((one) => one.catch((error: unknown) => failures.push(error))));
  if (failures.length > 0) throw failures[0];
}

/**
 * Reads an archive from its start to its end, hands each file but the manifest to `take`, which must consume it, and
 * returns the manifest once every checksum agreed. Until it returns, nothing that was taken may be trusted. Throws
 * KEEP.NOT_AN_ARCHIVE, KEY_NEEDED, WRONG_KEY, CUT_SHORT, DAMAGED, OTHER_FORMAT or NEWER_FORMAT.
 */
export async function readArchive<M extends Manifest>(
  path: string,
  format: string,
  opening: Opening,
  take: (path: string, content: Readable) => Promise<void>,
): Promise<M> {
  const start = await startOf(path);
  const encrypted = isAge(start);
  if (start.length === 0) throw cutShort();
  if (!encrypted && !(start[0] === 0x1f && start[1] === 0x8b)) {
    throw new DomainError('refused', 'KEEP.NOT_AN_ARCHIVE', 'This file is no archive that Halfinch made.');
  }
  const found = new Map<string, Omit<Listed, 'path'>>();
  let manifest: Manifest | undefined;
  const raw = createReadStream(path);
  try {
    const plain = encrypted
      ? await unlocked(raw, opening).catch((error: unknown) => {
          throw plainlyOfHead(error);
        })
      : raw;
    const extract = tar.extract();
    const flowing = pipeline(plain, createGunzip(), extract);
    const reading = (async () => {
      for await (const entry of extract) {
        const { name, type } = entry.header;
        if (type !== 'file') throw damaged(`${name} is no plain file.`);
        if (manifest || found.has(name)) throw damaged(`${name} does not belong there.`);
        if (name === MANIFEST) {
          manifest = manifestFrom(await wholeText(entry as unknown as Readable), format);
          continue;
        }
        const { tap, listed } = measuring();
        const taking = take(name, tap).catch((error: Error) => {
          tap.destroy(error);
          throw error;
        });
        await over(pipeline(entry as unknown as Readable, tap), taking);
        found.set(name, listed());
      }
    })();
    await over(flowing, reading);
  } catch (error) {
    throw plainly(error);
  } finally {
    raw.destroy();
  }
  if (!manifest) throw cutShort();
  compare(found, manifest.files);
  return manifest as M;
}

/** Name of the archive with the ending that its lock calls for. */
export function archiveName(stem: string, lock: Lock): string {
  return `${stem}.tar.gz${isLocking(lock) ? '.age' : ''}`;
}
