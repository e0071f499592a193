import { readdir, rm } from 'node:fs/promises';
import { join } from 'node:path';

const DAY_MS = 86_400_000;
const NAME = /^halfinch-(\d{4})(\d\d)(\d\d)T(\d\d)(\d\d)(\d\d)Z\.tar\.gz(\.age)?$/;

/** A backup in a folder, by its name. */
export type KeptBackup = { readonly name: string; readonly madeAt: number };

/** Stem of a backup's name: halfinch-20261125T031500Z. */
export function backupStem(now: number): string {
  const text = new Date(now).toISOString();
  return `halfinch-${text.slice(0, 19).replaceAll(/[-:]/g, '')}Z`;
}

/** What is not called as a backup is called is not one. */
export function keptFrom(name: string): KeptBackup | undefined {
  const [, year, month, day, hour, minute, second] = NAME.exec(name) ?? [];
  if (year === undefined) return undefined;
  const madeAt = Date.parse(`${year}-${month}-${day}T${hour}:${minute}:${second}Z`);
  return Number.isNaN(madeAt) ? undefined : { name, madeAt };
}

/** Backups older than so many days at `now`, but never the newest one. */
export function expired(backups: readonly KeptBackup[], now: number, keepDays: number): KeptBackup[] {
  const newest = backups.reduce((latest, { madeAt }) => Math.max(latest, madeAt), Number.NEGATIVE_INFINITY);
  return backups.filter(({ madeAt }) => madeAt < newest && madeAt < now - keepDays * DAY_MS);
}

/** Instant in UTC at which the last backup before `now` was due; `at` is 'HH:MM' UTC. */
export function lastDueAt(now: number, at: string): number {
  const today = Date.parse(`${new Date(now).toISOString().slice(0, 10)}T${at}:00Z`);
  return today <= now ? today : today - DAY_MS;
}

/** The backups of a folder, newest first; none where there is no folder. */
export async function keptIn(folder: string): Promise<KeptBackup[]> {
  const names = await readdir(folder).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw error;
  });
  return names.flatMap((name) => keptFrom(name) ?? []).sort((a, b) => b.madeAt - a.madeAt);
}

/** Removes expired backups and returns their names. */
export async function forgetExpired(folder: string, now: number, keepDays: number): Promise<string[]> {
  const gone = expired(await keptIn(folder), now, keepDays);
  for (const { name } of gone) await rm(join(folder, name), { force: true });
  return gone.map(({ name }) => name);
}
