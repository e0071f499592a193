import { hkdfSync, randomBytes } from 'node:crypto';
import { existsSync, linkSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Settings } from './settings.js';

const SECRET_BYTES = 32;

/** What each secret is for; the file is where it lies when nobody gives one. */
const FILES = { cookies: 'cookie.key', links: 'links.key' } as const;

type Given = Pick<Settings, 'dataDir' | 'secret'>;

/** A secret of 256 bits for one purpose, drawn from the installation's (HKDF, RFC 5869): one tells nothing of another. */
export function derivedSecret(secret: string, purpose: string): Buffer {
  return Buffer.from(hkdfSync('sha256', secret, '', `halfinch ${purpose}`, SECRET_BYTES));
}

/**
 * The secret for a purpose, the same in every process: from HALFINCH_SECRET, else from a file in the data folder that
 * whichever process comes first makes.
 */
export function secretFor({ dataDir, secret }: Given, purpose: keyof typeof FILES): string {
  if (secret !== undefined) return derivedSecret(secret, purpose).toString('hex');
  const file = join(dataDir, FILES[purpose]);
  if (!existsSync(file)) makeFile(file, dataDir);
  return readFileSync(file, 'utf8').trim();
}

/** Whole or not at all; of two processes that start at once, the second takes the first one's. */
function makeFile(file: string, folder: string): void {
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  const own = `${file}.${process.pid}`;
  writeFileSync(own, randomBytes(SECRET_BYTES).toString('hex'), { mode: 0o600, flush: true });
  try {
    linkSync(own, file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  } finally {
    rmSync(own);
  }
}
