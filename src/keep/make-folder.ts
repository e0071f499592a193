import { mkdir, stat } from 'node:fs/promises';
import { dirname } from 'node:path';

/**
 * Makes a folder and those above it, for this user only. One at a time, because `mkdir` with `recursive` tries for ever
 * where a file system that takes no folders says that they are missing.
 */
export async function makeFolder(path: string): Promise<void> {
  const there = await stat(path).catch(() => undefined);
  if (there?.isDirectory()) return;
  if (dirname(path) !== path) await makeFolder(dirname(path));
  await mkdir(path, { mode: 0o700 }).catch((error: NodeJS.ErrnoException) => {
    if (error.code !== 'EEXIST' || there) throw error;
  });
}
