import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { makeFolder } from './make-folder.js';

const NAME = /^\.(\w+)-(\d+)-\w+$/;

function isAlive(pid: number): boolean {
  if (pid === process.pid) return false;
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}

/** Takes away what processes that are gone left of such a folder. */
async function clearLeft(parent: string, what: string): Promise<void> {
  for (const name of await readdir(parent)) {
    const [, kind, pid] = NAME.exec(name) ?? [];
    if (kind === what && !isAlive(Number(pid)) && !mine.has(name)) {
      await rm(join(parent, name), { recursive: true, force: true });
    }
  }
}

const mine = new Set<string>();

/** Runs `work` with a folder of its own inside `parent`, which is gone afterwards whatever happens. */
export async function withScratch<T>(
  parent: string,
  what: string,
  work: (folder: string) => Promise<T>,
): Promise<T> {
  await makeFolder(parent);
  await clearLeft(parent, what);
  const folder = await mkdtemp(join(parent, `.${what}-${process.pid}-`));
  const name = folder.slice(parent.length + 1);
  mine.add(name);
  try {
    return await work(folder);
  } finally {
    mine.delete(name);
    await rm(folder, { recursive: true, force: true });
  }
}
