import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { isOnPostgres } from '../factories/database.js';

/** Linux counts in hundredths of a second. */
const TICK_MS = 10;

type Counted = { readonly parent: number; readonly ms: number; readonly endedChildrenMs: number };

/** Parent and processor time so far, after proc(5); undefined for a process that is gone. */
function counted(pid: number | string): Counted | undefined {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, 'latin1').split(') ')[1]?.split(' ') ?? [];
    const ms = (...places: number[]) => places.reduce((sum, i) => sum + Number(fields[i]) * TICK_MS, 0);
    return { parent: Number(fields[1]), ms: ms(11, 12), endedChildrenMs: ms(13, 14) };
  } catch {
    return undefined;
  }
}

/** Processor time of another process so far, in ms. */
export function processMs(pid: number): number {
  return counted(pid)?.ms ?? 0;
}

/** Processor time so far, in ms, of the run's PostgreSQL with all its processes, also those that have ended. */
export function postgresMs(): number {
  const file = join(process.env['HALFINCH_TEST_RUN'] ?? '', 'postgres', 'postmaster.pid');
  const server = Number(readFileSync(file, 'utf8').split('\n')[0]);
  const all = readdirSync('/proc').filter((name) => /^\d+$/.test(name));
  const ofServer = all.flatMap((pid) => counted(pid) ?? []).filter(({ parent }) => parent === server);
  return ofServer.reduce((sum, { ms }) => sum + ms, counted(server)?.endedChildrenMs ?? 0);
}

/**
 * Processor time that `work` takes, in ms, the database's included, be it threads of this process or a server: other work
 * on the machine hardly changes it. PostgreSQL's share comes in steps of 10 ms.
 */
export async function processorMs(work: () => Promise<unknown>): Promise<number> {
  const ours = process.cpuUsage();
  const database = isOnPostgres() ? postgresMs() : 0;
  await work();
  const { user, system } = process.cpuUsage(ours);
  return (user + system) / 1000 + (isOnPostgres() ? postgresMs() - database : 0);
}
