import { open, readdir, readFile, rename } from 'node:fs/promises';
import { join } from 'node:path';
import { fileSealedWith, keyring } from './keyring.js';

/** Written and on the disk under another name first, so that a file is whole whenever this is cut short. */
async function replace(path: string, content: Buffer): Promise<void> {
  const next = `${path}.anew`;
  const file = await open(next, 'w', 0o600);
  try {
    await file.writeFile(content);
    await file.sync();
  } finally {
    await file.close();
  }
  await rename(next, path);
}

/**
 * Seals every file of a folder anew, by its name, that is not sealed with the current key, plain ones included; files
 * whose key is not here stay as they are. Returns how many it sealed; a folder that is not there has none.
 */
export async function sealFilesAnew(folder: string, isOurs: (name: string) => boolean): Promise<number> {
  const names = await readdir(folder).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw error;
  });
  let count = 0;
  for (const name of names.filter(isOurs)) {
    const path = join(folder, name);
    const stored = await readFile(path);
    const keyId = fileSealedWith(stored);
    if (keyId === keyring.currentId || (keyId !== undefined && !keyring.has(keyId))) continue;
    await replace(path, keyring.sealBytes(keyring.openBytes(stored, name), name));
    count += 1;
  }
  return count;
}
