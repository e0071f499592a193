import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { Redis } from 'ioredis';
import { projectRoot } from '../../src/base/index.js';
import { askAt, type Group, OWNER, openGroup } from '../factories/group.js';
import { postgresMs, processMs } from './processor.js';
import { type BenchRow, told } from './row.js';

const SECONDS = 10;
const AT_ONCE = 8;
/** After the start, what all processes do once; then so long they are watched. */
const SETTLE_S = 10;
const IDLE_S = 60;
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

const ourMs = (group: Group) => group.pids().reduce((sum, pid) => sum + processMs(pid), 0);

/** Has so many clients at once ask one thing after the other for some seconds. Throws when one is refused. */
async function loadOf(group: Group, ask: (n: number) => Promise<{ readonly status: number }>): Promise<Load> {
  const took: number[] = [];
  const before = { ours: ourMs(group), database: postgresMs() };
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
    databaseMs: (postgresMs() - before.database) / took.length,
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
  const row = (what: string, value: number, unit: BenchRow['unit']) => told(`${name}: ${what}`, value, unit);
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

/** Transactions that PostgreSQL has committed, single questions included. */
const counted = async (group: Group): Promise<number> => {
  const [row] = await group.reader.manager.query(
    'SELECT xact_commit AS n FROM pg_stat_database WHERE datname = current_database()',
  );
  return Number(row.n);
};

/** Commands that Redis has carried out. */
async function commands(group: Group): Promise<number> {
  const redis = new Redis(group.redis.url);
  const stats = await redis.info('stats');
  redis.disconnect();
  return Number(/total_commands_processed:(\d+)/.exec(stats)?.[1]);
}

/** What the group does while nobody asks anything, looking as often as is usual. */
async function idled(): Promise<BenchRow[]> {
  const group = await openGroup({ webs: 2, workers: 2, lookEveryMs: 2_000 });
  try {
    await new Promise((later) => setTimeout(later, SETTLE_S * 1000));
    const before = [await counted(group), await commands(group), ourMs(group), postgresMs()] as const;
    await new Promise((later) => setTimeout(later, IDLE_S * 1000));
    const after = [await counted(group), await commands(group), ourMs(group), postgresMs()] as const;
    const [transactions, redis, ours, database] = after.map((value, i) => (value - before[i]!) / IDLE_S);
    const row = (what: string, value: number, unit: BenchRow['unit']) =>
      told(`2 web, 2 workers, idle: ${what}`, value, unit);
    return [
      row('transactions in PostgreSQL', transactions!, '/s'),
      row('commands in Redis', redis!, '/s'),
      row('processor time of ours in a second', ours!, 'ms'),
      row('of PostgreSQL', database!, 'ms'),
    ];
  } finally {
    await group.close();
  }
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
    rows.push(...(await idled()));
  } finally {
    await (await run('test-run-end.mjs')).default();
  }
  return rows;
}
