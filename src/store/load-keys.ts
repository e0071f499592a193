import { existsSync, linkSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { type Key, keyFrom, newKeyText } from './keyring.js';

export type KeySource = {
  /** Keys in base64, the current one first, separated by commas: HALFINCH_KEY. */
  readonly key?: string | undefined;
  /** File with one key a line, the current one first. */
  readonly keyFile: string;
};

/** Where the key lies unless the operator says otherwise: a folder of its own beside the database. */
export function usualKeyFile(dataDir: string): string {
  return join(dataDir, 'keys', 'health.key');
}

/** Writes a key file whole or not at all, readable by its owner only. */
export function writeKeyFile(file: string, lines: readonly string[]): void {
  mkdirSync(dirname(file), { recursive: true, mode: 0o700 });
  const next = `${file}.next`;
  writeFileSync(next, `${lines.join('\n')}\n`, { mode: 0o600, flush: true });
  renameSync(next, file);
}

/** Of two processes that start at once, the one that comes second takes the first one's key. */
function makeKeyFile(file: string): void {
  mkdirSync(dirname(file), { recursive: true, mode: 0o700 });
  const own = `${file}.${process.pid}`;
  writeFileSync(own, `${newKeyText()}\n`, { mode: 0o600, flush: true });
  try {
    linkSync(own, file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
  } finally {
    rmSync(own);
  }
}

/** Lines of a key file, without blanks. */
export function readKeyFile(file: string): string[] {
  return readFileSync(file, 'utf8')
    .split('\n')
    .map((line) => line.trim())
    .filter(Boolean);
}

/** The keys to work with, the current one first; a file that is missing is made with a fresh key. */
export function loadKeys({ key, keyFile }: KeySource): Key[] {
  if (key !== undefined) return key.split(',').map(keyFrom);
  if (!existsSync(keyFile)) makeKeyFile(keyFile);
  return readKeyFile(keyFile).map(keyFrom);
}
