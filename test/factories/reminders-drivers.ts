import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { type AddressInfo, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Redis } from 'ioredis';
import { LessThanOrEqual } from 'typeorm';
import { MessageQueue } from '../../src/jobs/message-queue.js';
import { MessageWorker } from '../../src/jobs/message-worker.js';
import { type DispatchPolicy, Message } from '../../src/reminders/index.js';
import type { Sender } from '../../src/reminders/sender.js';
import type { Delivery, DispatchTally } from '../../src/store/index.js';
import { partsOf, type TestDesk } from './reminders.js';

const REDIS_SERVER = '/usr/bin/redis-server';

export type TestRedis = {
  readonly url: string;
  /** Kills the server, memory and all. */
  stop(): Promise<void>;
  start(): Promise<void>;
  flushAll(): Promise<void>;
  close(): Promise<void>;
};

/** A port of this machine on which nobody listens now. */
export async function freePort(): Promise<number> {
  const probe = createServer();
  await new Promise<void>((ready) => {
    probe.listen(0, '127.0.0.1', ready);
  });
  const { port } = probe.address() as AddressInfo;
  await new Promise((closed) => probe.close(closed));
  return port;
}

/** A real Redis of its own on a free port of this machine, which keeps nothing on the disk. */
export async function openRedis(): Promise<TestRedis> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-redis-'));
  const port = await freePort();
  const url = `redis://127.0.0.1:${port}`;
  let server: ChildProcess | undefined;
  const start = async () => {
    const options = ['--bind', '127.0.0.1', '--save', '', '--appendonly', 'no', '--dir', folder];
    server = spawn(REDIS_SERVER, ['--port', `${port}`, ...options], { stdio: 'ignore' });
    const probe = new Redis(url, { maxRetriesPerRequest: null, retryStrategy: () => 20 });
    probe.on('error', () => undefined);
    await probe.ping();
    probe.disconnect();
  };
  const stop = async () => {
    const gone = new Promise((exited) => server?.once('exit', exited));
    server?.kill('SIGKILL');
    await gone;
  };
  await start();
  return {
    url,
    start,
    stop,
    flushAll: async () => {
      const redis = new Redis(url);
      await redis.flushall();
      redis.disconnect();
    },
    close: async () => {
      await stop();
      await rm(folder, { recursive: true });
    },
  };
}

/** Either way of carrying messages: sends what is due now and tells what became of it. */
export type Carrier = { deliverDue(): Promise<DispatchTally> };

export type Driver = {
  carrier(desk: TestDesk, sender: Sender, policy?: Partial<DispatchPolicy>): Carrier;
  /** Before each test. */
  reset(): Promise<void>;
  close(): Promise<void>;
};

export const DRIVERS = ['embedded', 'redis'] as const;

export async function openDriver(name: (typeof DRIVERS)[number]): Promise<Driver> {
  if (name === 'embedded') {
    return {
      carrier: (desk, sender, policy = {}) => partsOf(desk, sender, { policy }).dispatcher,
      reset: async () => undefined,
      close: async () => undefined,
    };
  }
  const redis = await openRedis();
  return {
    carrier: (desk, sender, policy = {}) => ({
      deliverDue: () => throughRedis(redis.url, desk, partsOf(desk, sender, { policy }).dispatcher),
    }),
    reset: () => redis.flushAll(),
    close: () => redis.close(),
  };
}

/** Queues what is owed, lets a worker of the product carry all that is due by the test's clock, and stops it. */
async function throughRedis(
  url: string,
  desk: TestDesk,
  dispatcher: ReturnType<typeof partsOf>['dispatcher'],
): Promise<DispatchTally> {
  const messages = new MessageQueue(url);
  const now = desk.clock.now();
  await messages.sweep(desk.reader.manager, now, true);
  // Redis counts real time, the test's clock does not.
  const due = await desk.reader.manager.findBy(Message, { state: 'owed', dueAt: LessThanOrEqual(now) });
  for (const { id, notBefore } of due) {
    const job = await messages.queue.getJob(id);
    if ((notBefore ?? 0) <= now && (await job?.isDelayed())) await job?.promote();
  }

  const tally: DispatchTally = { sent: 0, waiting: 0, failed: 0, unneeded: 0 };
  const counting = {
    deliverOne: async (id: string): Promise<Delivery> => {
      const delivery = await dispatcher.deliverOne(id);
      tally[delivery.outcome] += 1;
      return delivery;
    },
  };
  const options = { redisUrl: url, atOnce: dispatcher.atOnce, lockMs: 5_000 };
  const worker = new MessageWorker(options, counting, desk.clock);
  worker.onApplicationBootstrap();
  try {
    for (;;) {
      const { wait = 0, active = 0 } = await messages.queue.getJobCounts('wait', 'active');
      if (wait + active === 0) break;
      await new Promise((later) => setTimeout(later, 5));
    }
  } finally {
    await worker.beforeApplicationShutdown();
    await messages.close();
  }
  return tally;
}
