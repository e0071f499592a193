import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { projectRoot } from '../../src/base/index.js';
import { askAt, type Group, OWNER, openGroup } from '../factories/group.js';
import type { BenchRow } from './engine.js';

const SECONDS = 10;
const AT_ONCE = 8;
const CLIENTS = 200;
const DAY_MS = 86_400_000;
/** So many tidies of twenty minutes fit into WEEK's mornings and afternoons. */
const TIMES = ['09:00', '13:30'].flatMap((from, i) =>
  Array.from({ length: [12, 13][i]! }, (_, k) => {
    const minutes = Number(from.slice(0, 2)) * 60 + Number(from.slice(3)) + k * 20;
    return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
  }),
);

const dateIn = (days: number) => new Date(Date.now() + days * DAY_MS).toISOString().slice(0, 10);

type Load = {
  readonly perSecond: number;
  readonly p95Ms: number;
  /** Processor time of one request in all web processes and workers together, and in PostgreSQL. */
  readonly ourMs: number;
  readonly databaseMs: number;
};

/** Linux counts in hundredths of a second. */
const TICK_MS = 10;

type Counted = { readonly parent: number; readonly ms: number };

/** Parent and processor time so far, after proc(5); undefined for a process that is gone. */
function counted(pid: number | string): Counted | undefined {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, 'latin1').split(') ')[1]?.split(' ') ?? [];
    return { parent: Number(fields[1]), ms: (Number(fields[11]) + Number(fields[12])) * TICK_MS };
  } catch {
    return undefined;
  }
}

/** Of the run's PostgreSQL, all its processes. */
function databaseMs(): number {
  const file = join(process.env['HALFINCH_TEST_RUN'] ?? '', 'postgres', 'postmaster.pid');
  const server = Number(readFileSync(file, 'utf8').split('\n')[0]);
  const all = readdirSync('/proc').filter((name) => /^\d+$/.test(name));
  const ofServer = all.flatMap((pid) => counted(pid) ?? []).filter(({ parent }) => parent === server);
  return ofServer.reduce((sum, { ms }) => sum + ms, 0);
}

const ourMs = (group: Group) => group.pids().reduce((sum, pid) => sum + (counted(pid)?.ms ?? 0), 0);

/** Has so many clients at once ask one thing after the other for some seconds. Throws when one is refused. */
async function loadOf(group: Group, ask: (n: number) => Promise<{ readonly status: number }>): Promise<Load> {
  const took: number[] = [];
  const before = { ours: ourMs(group), database: databaseMs() };
  const end = performance.now() + SECONDS * 1000;
  let next = 0;
  const client = async () => {
    while (performance.now() < end) {
      const begun = performance.now();
      const { status } = await ask(next++);
      if (status >= 400) throw new Error(`A request was answered ${status}.`);
      took.push(performance.now() - begun);
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, client));
  took.sort((a, b) => a - b);
  return {
    perSecond: took.length / SECONDS,
    p95Ms: took[Math.floor(took.length * 0.95)] ?? 0,
    ourMs: (ourMs(group) - before.ours) / took.length,
    databaseMs: (databaseMs() - before.database) / took.length,
  };
}

async function measured(name: string, group: Group): Promise<BenchRow[]> {
  const clients = await group.addClients(CLIENTS);
  const { body } = await askAt(group.web[0]!.url, 'POST', '/api/v1/sessions', { body: OWNER });
  const token = body['token'] as string;
  const at = (n: number) => group.web[n % group.web.length]!.url;
  const staff = [group.mara.id, group.ilan.id];
  const bookings = await loadOf(group, (n) => {
    const day = Math.floor(n / (TIMES.length * staff.length));
    const wanted = {
      clientId: clients[n % CLIENTS],
      staffId: staff[n % staff.length],
      serviceId: group.tidy.id,
      date: dateIn(2 + day),
      time: TIMES[Math.floor(n / staff.length) % TIMES.length],
    };
    return askAt(at(n), 'POST', '/api/v1/appointments', { token, body: wanted });
  });
  const paths = [
    `/api/v1/appointments?date=${dateIn(3)}`,
    `/api/v1/slots?serviceId=${group.tidy.id}&from=${dateIn(3)}&to=${dateIn(10)}`,
    '/api/v1/clients?search=number%2014',
  ];
  const reads = await loadOf(group, (n) => askAt(at(n), 'GET', paths[n % paths.length]!, { token }));
  const row = (what: string, value: number, unit: BenchRow['unit']): BenchRow => ({
    name: `${name}: ${what}`,
    value,
    unit,
    budget: null,
  });
  return [
    row('bookings', bookings.perSecond, '/s'),
    row('a booking, 95 of 100 within', bookings.p95Ms, 'ms'),
    row('a booking, processor time of ours', bookings.ourMs, 'ms'),
    row('a booking, of PostgreSQL', bookings.databaseMs, 'ms'),
    row('day, free slots, search', reads.perSecond, '/s'),
    row('one of these, 95 of 100 within', reads.p95Ms, 'ms'),
    row('one of these, processor time of ours', reads.ourMs, 'ms'),
    row('one of these, of PostgreSQL', reads.databaseMs, 'ms'),
  ];
}

/**
 * What one box carries and what two web processes and two workers carry on the same machine, everything included: the
 * databases, Redis, the mail server and whoever asks. Processor time does not hang on what else the machine does. Linux
 * only; needs `npm run build`.
 */
export async function benchGroup(): Promise<BenchRow[]> {
  const run = (name: string): Promise<{ default(): Promise<void> }> =>
    import(pathToFileURL(join(projectRoot(), '.config', name)).href);
  await (await run('test-run-postgres.mjs')).default();
  const rows: BenchRow[] = [];
  try {
    for (const [name, setup] of [
      ['one box (SQLite)', { webs: 1, workers: 0, isOneBox: true }],
      ['2 web, 2 workers (PostgreSQL)', { webs: 2, workers: 2 }],
    ] as const) {
      const group = await openGroup(setup);
      try {
        rows.push(...(await measured(name, group)));
      } finally {
        await group.close();
      }
    }
  } finally {
    await (await run('test-run-end.mjs')).default();
  }
  return rows;
}
