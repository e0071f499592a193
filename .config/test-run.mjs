import { mkdtemp, rm, statfs } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

const IN_MEMORY = '/dev/shm';
const ROOM_BYTES = 2 * 1024 ** 3;

/** What to undo at the end of the run, last made first. */
export const undo = [];

/**
 * One folder for all that a test run writes, in memory where the machine has room for it: the tests kill processes,
 * never the power, so a disk would only make them wait. What is dear to make is made there once for all workers.
 */
export default async function openTestRun() {
  if (undo.length > 0) return;
  const folder = await mkdtemp(join(await scratch(), 'halfinch-run-'));
  undo.push(() => rm(folder, { recursive: true, maxRetries: 5 }));
  process.env.HALFINCH_TEST_RUN = folder;
  process.env.TMPDIR = folder;
}

async function scratch() {
  try {
    const { bavail, bsize } = await statfs(IN_MEMORY);
    return bavail * bsize >= ROOM_BYTES ? IN_MEMORY : tmpdir();
  } catch {
    return tmpdir();
  }
}
