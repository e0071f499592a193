import { type ChildProcess, spawn } from 'node:child_process';
import { randomBytes } from 'node:crypto';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { MIGRATIONS } from '../../migrations/index.js';
import { projectRoot, SystemClock } from '../../src/base/index.js';
import { Client } from '../../src/clients/index.js';
import { ENTITIES } from '../../src/entities.js';
import { Audit, hashPassword, Sessions, SignIn } from '../../src/identity/index.js';
import { MessageRules } from '../../src/reminders/index.js';
import { Salons } from '../../src/salon/index.js';
import { newId, openSources, Reader, UnitOfWork } from '../../src/store/index.js';
import { type Balancer, openBalancer } from './balancer.js';
import { barePostgres, type EmptyDatabase } from './database.js';
import { freePort, openRedis, type TestRedis } from './reminders-drivers.js';
import { type CountingServer, openCountingServer } from './reminders-kill.js';
import { makeSalon, type TestSalon } from './salon.js';

export const OWNER = { email: 'owner@wren-tallow.example.org', password: 'correct horse battery' } as const;

export type Answer = { readonly status: number; readonly body: Record<string, unknown> };

export type WebProcess = {
  readonly port: number;
  readonly url: string;
  /** Asks it to stop and waits until it has. */
  stop(): Promise<void>;
  /** Ends it with no chance to tidy up. */
  kill(): Promise<void>;
};

export type Group = TestSalon & {
  readonly reader: Reader;
  readonly redis: TestRedis;
  readonly mail: CountingServer;
  readonly balancer: Balancer;
  readonly web: WebProcess[];
  /** Starts a web process that listens on `port`, known to the balancer once it answers. */
  startWeb(port?: number): Promise<WebProcess>;
  /** Clients with a mail address. */
  addClients(count: number): Promise<string[]>;
  /** Process ids of the web processes and workers that run now. */
  readonly pids: () => number[];
  /** Everything that processes wrote to their standard error. */
  readonly complaints: () => string;
  close(): Promise<void>;
};

/** Asks a process, or the balancer, as whoever has the token; rejects when the connection breaks. */
export async function askAt(
  url: string,
  method: string,
  path: string,
  { token, body }: { readonly token?: string | undefined; readonly body?: object } = {},
): Promise<Answer> {
  const answer = await fetch(url + path, {
    method,
    redirect: 'manual',
    headers: {
      ...(token && { authorization: `Bearer ${token}` }),
      ...(body && { 'content-type': 'application/json' }),
    },
    ...(body && { body: JSON.stringify(body) }),
  });
  const isJson = answer.headers.get('content-type')?.includes('json') ?? false;
  const text = await answer.text();
  return { status: answer.status, body: isJson && text !== '' ? JSON.parse(text) : { text } };
}

/**
 * Web processes and workers as an operator would run them, from the built product, on an empty PostgreSQL database and a
 * Redis of their own, all started at once; with a salon whose reminders go out ten days ahead at any hour. `isOneBox`
 * leaves both away: an SQLite file instead, and the one web process sends what it owes. They look for messages every
 * `lookEveryMs` milliseconds, more often than is usual.
 */
export async function openGroup({
  webs = 2,
  workers = 2,
  isOneBox = false,
  lookEveryMs = 200,
} = {}): Promise<Group> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-group-'));
  const file: EmptyDatabase = { database: join(folder, 'halfinch.sqlite'), drop: async () => undefined };
  const [{ database, drop }, redis, mail, balancer] = await Promise.all([
    isOneBox ? file : barePostgres(),
    openRedis(),
    openCountingServer(),
    openBalancer(),
  ]);
  const children = new Set<ChildProcess>();
  let complaints = '';
  const env = {
    PATH: process.env['PATH'],
    HALFINCH_DATA: folder,
    HALFINCH_SECRET: randomBytes(48).toString('base64'),
    HALFINCH_KEY: randomBytes(32).toString('base64'),
    ...(!isOneBox && { DATABASE_URL: database, DATABASE_READERS: '4', REDIS_URL: redis.url }),
    SMTP_URL: mail.url,
    DISPATCH_EVERY_MS: `${lookEveryMs}`,
    STOP_AFTER_MS: '1000',
    API_PER_MINUTE: '0',
  };

  const run = (script: string, more: NodeJS.ProcessEnv = {}): ChildProcess => {
    const child = spawn(process.execPath, [join(projectRoot(), 'dist/src', script)], {
      stdio: ['ignore', 'ignore', 'pipe'],
      env: { ...env, ...more },
    });
    child.stderr?.on('data', (chunk: Buffer) => {
      complaints += chunk.toString();
    });
    children.add(child);
    child.once('exit', () => children.delete(child));
    return child;
  };
  const end = async (child: ChildProcess, signal: NodeJS.Signals): Promise<void> => {
    const gone = new Promise((exited) => child.once('exit', exited));
    child.kill(signal);
    await gone;
  };
  const startWeb = async (given?: number): Promise<WebProcess> => {
    const port = given ?? (await freePort());
    const child = run('main.js', { PORT: `${port}` });
    const url = `http://127.0.0.1:${port}`;
    await answering(child, url);
    balancer.with(port);
    return {
      port,
      url,
      stop: () => end(child, 'SIGTERM'),
      kill: () => end(child, 'SIGKILL'),
    };
  };

  for (let i = 0; i < workers; i += 1) run('worker.js');
  const web = await Promise.all(Array.from({ length: webs }, () => startWeb()));
  const keys = { key: env.HALFINCH_KEY, keyFile: join(folder, 'keys') };
  const sources = await openSources(database, ENTITIES, MIGRATIONS, keys, {
    readers: 2,
    statementMs: 30_000,
  });
  const units = new UnitOfWork(sources.writer);
  const reader = new Reader(sources.reader);
  const clock = new SystemClock();
  const audit = new Audit(clock);
  const place = await makeSalon({ salons: new Salons(units, reader, audit) });
  const { salon } = place;
  const signIn = new SignIn(units, reader, clock, audit, new Sessions(units, reader, clock, audit));
  const passwordHash = await hashPassword(OWNER.password);
  await units.run(async (manager) => {
    await signIn.addAccount(manager, { email: OWNER.email, name: 'The owner', role: 'owner', passwordHash });
    await manager.insert(MessageRules, {
      id: newId(),
      version: 1,
      salonId: salon.id,
      reminderHours: [240],
      quietFrom: '00:00',
      quietUntil: '00:00',
    });
  });

  return {
    ...place,
    reader,
    redis,
    mail,
    balancer,
    web,
    startWeb,
    pids: () => [...children].flatMap(({ pid }) => pid ?? []),
    complaints: () => complaints,
    addClients: async (count) => {
      const clients = Array.from({ length: count }, (_, i) => ({
        id: newId(),
        version: 1,
        salonId: salon.id,
        givenName: 'Guest',
        familyName: `Number ${i + 1}`,
        searchText: `guest number ${i + 1}`,
        email: `guest-${i + 1}@example.org`,
        addedAt: 0,
      }));
      await units.run((manager) => manager.insert(Client, clients));
      return clients.map(({ id }) => id);
    },
    close: async () => {
      await Promise.all([...children].map((child) => end(child, 'SIGKILL')));
      await sources.reader.destroy();
      await sources.writer.destroy();
      await Promise.all([balancer.close(), mail.close(), redis.close(), drop()]);
      await rm(folder, { recursive: true });
    },
  };
}

/** Rejects when the process ends instead. */
async function answering(child: ChildProcess, url: string): Promise<void> {
  while (child.exitCode === null && child.signalCode === null) {
    const answer = await fetch(`${url}/health/ready`).catch(() => undefined);
    if (answer?.ok) return;
    await new Promise((later) => setTimeout(later, 50));
  }
  throw new Error('A web process ended before it answered.');
}
