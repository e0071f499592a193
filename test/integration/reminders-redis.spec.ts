import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from '@jest/globals';
import { Test } from '@nestjs/testing';
import { Queue } from 'bullmq';
import { Redis } from 'ioredis';
import { MIGRATIONS } from '../../migrations/index.js';
import { Appointment, Book } from '../../src/book/index.js';
import { Client, Clients } from '../../src/clients/index.js';
import { ENTITIES } from '../../src/entities.js';
import { IdentityModule, SYSTEM } from '../../src/identity/index.js';
import { JobsModule, WorkerModule } from '../../src/jobs/index.js';
import { MessageFeeder } from '../../src/jobs/message-feeder.js';
import { MessageWorker } from '../../src/jobs/message-worker.js';
import { MESSAGE_QUEUE } from '../../src/jobs/queue-name.js';
import { Messages } from '../../src/reminders/index.js';
import { oweForBooking } from '../../src/reminders/owing.js';
import { DeliveryError } from '../../src/reminders/sender.js';
import { Salons } from '../../src/salon/index.js';
import { readSettings, StoreModule } from '../../src/store/index.js';
import { CLIENT_INPUT } from '../factories/clients.js';
import {
  appointmentAt,
  bookAt,
  KeepingSender,
  messagesOf,
  openDesk,
  type Parts,
  partsOf,
  type TestDesk,
} from '../factories/reminders.js';
import { openRedis, type TestRedis } from '../factories/reminders-drivers.js';
import { makeSalon } from '../factories/salon.js';
import { until } from '../factories/until.js';

const EVERY_MS = 30;

/** The web process and a worker, each as it runs in the product, against a real Redis. */
describe('messages through Redis', () => {
  let redis: TestRedis;
  let desk: TestDesk;
  let feeders: MessageFeeder[];
  let workers: MessageWorker[];
  let asked: Redis;
  let queue: Queue;

  beforeAll(async () => {
    redis = await openRedis();
  });
  afterAll(() => redis.close());
  beforeEach(async () => {
    await redis.flushAll();
    asked = new Redis(redis.url, { maxRetriesPerRequest: null });
    asked.on('error', () => undefined);
    queue = new Queue(MESSAGE_QUEUE, { connection: asked });
    queue.on('error', () => undefined);
    desk = await openDesk();
    feeders = [];
    workers = [];
  });
  afterEach(async () => {
    for (const feeder of feeders) await feeder.beforeApplicationShutdown();
    for (const worker of workers) await worker.beforeApplicationShutdown();
    await queue.close();
    asked.disconnect();
    await desk.close();
  });

  async function feed(
    sender: KeepingSender,
    everyMs = EVERY_MS,
    { upkeep }: Pick<Parts, 'upkeep'> = partsOf(desk, sender),
  ): Promise<void> {
    const options = { redisUrl: redis.url, everyMs, watchCommits: true };
    const feeder = new MessageFeeder(options, upkeep, desk.units, desk.reader, desk.clock);
    feeders.push(feeder);
    await feeder.onApplicationBootstrap();
  }

  function work(sender: KeepingSender): void {
    const { dispatcher } = partsOf(desk, sender);
    const worker = new MessageWorker(
      { redisUrl: redis.url, atOnce: dispatcher.atOnce, lockMs: 1_000 },
      dispatcher,
      desk.clock,
    );
    workers.push(worker);
    worker.onApplicationBootstrap();
  }

  it('are queued under their own ids the moment they are committed, later ones delayed', async () => {
    const sender = new KeepingSender();
    await feed(sender, 3_600_000);
    // 48 hours before is three quarters of an hour from now; another is weeks away.
    const { id } = await bookAt(desk, '2026-06-03T08:45:00Z');
    const far = await bookAt(desk, '2026-06-25T13:30:00Z');
    const [confirmation, reminder] = await messagesOf(desk, id);
    const [farConfirmation] = await messagesOf(desk, far.id);
    await until(async () => (await queue.getJobs()).length === 3);
    expect(await queue.getJob(confirmation!.id).then((job) => job?.getState())).toBe('waiting');
    expect(await queue.getJob(farConfirmation!.id).then((job) => job?.getState())).toBe('waiting');
    const delayed = await queue.getJob(reminder!.id);
    expect(await delayed?.getState()).toBe('delayed');
    expect(delayed?.delay).toBe(45 * 60_000);
  });

  it('of a transaction that is rolled back are never queued', async () => {
    await feed(new KeepingSender(), 3_600_000);
    const appointment = appointmentAt(desk, '2026-06-18T13:30:00Z');
    const booking = desk.units.run(async (manager) => {
      await manager.insert(Appointment, appointment);
      await oweForBooking(manager, appointment, desk.clock.now());
      throw new Error('the chair was taken');
    });
    await expect(booking).rejects.toThrow('the chair was taken');
    await bookAt(desk, '2026-06-19T13:30:00Z');
    await until(async () => (await queue.getJobs()).length > 0);
    expect(await queue.getJobs()).toHaveLength(1);
  });

  it('may set off upkeep, which writes, from the commit that told of them', async () => {
    await desk.units.run((manager) => manager.update(Client, { id: desk.client.id }, { email: null }));
    await feed(new KeepingSender(), 3_600_000);
    const first = await bookAt(desk, '2026-06-18T13:30:00Z');
    expect((await messagesOf(desk, first.id))[0]).toMatchObject({ state: 'unreachable' });
    const email = 'late@example.net';
    await desk.units.run((manager) => manager.update(Client, { id: desk.client.id }, { email }));
    desk.clock.at += 120_000;
    await bookAt(desk, '2026-06-19T13:30:00Z');
    await until(async () => (await messagesOf(desk, first.id))[0]?.state === 'owed');
    await until(async () => (await queue.getJobs()).length === 2);
  });

  it('take along the upkeep that falls due while they are being queued', async () => {
    await desk.units.run((manager) => manager.update(Client, { id: desk.client.id }, { email: null }));
    const sender = new KeepingSender();
    const { upkeep } = partsOf(desk, sender);
    const really = upkeep.nowAndThen.bind(upkeep);
    let begun = 0;
    let done = 0;
    let goOn: () => void = () => undefined;
    const heldUp = new Promise<void>((resolve) => {
      goOn = resolve;
    });
    upkeep.nowAndThen = async () => {
      begun += 1;
      await really();
      done += 1;
      await heldUp;
    };
    await feed(sender, 3_600_000, { upkeep });
    await until(() => done === 1);
    const first = await bookAt(desk, '2026-06-18T13:30:00Z');
    const email = 'late@example.net';
    await desk.units.run((manager) => manager.update(Client, { id: desk.client.id }, { email }));
    desk.clock.at += 120_000;
    await bookAt(desk, '2026-06-19T13:30:00Z');
    expect(begun).toBe(1);
    expect((await messagesOf(desk, first.id))[0]).toMatchObject({ state: 'unreachable' });
    goOn();
    await until(async () => (await messagesOf(desk, first.id))[0]?.state === 'owed');
    await until(async () => (await queue.getJobs()).length === 2);
  });

  it('are sent once by several workers, and leave nothing behind in Redis', async () => {
    const sender = new KeepingSender();
    await feed(sender);
    work(sender);
    work(sender);
    for (let day = 10; day < 22; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    await until(() => sender.kept.length >= 12);
    await until(async () => (await queue.getJobs()).length === 0);
    expect(new Set(sender.kept.map(({ messageId }) => messageId)).size).toBe(12);
    expect(sender.kept).toHaveLength(12);
    expect(await desk.messages.counts(desk.salon.id)).toMatchObject({ sent: 12, owed: 12 });
  });

  it('that Redis lost are queued again', async () => {
    const sender = new KeepingSender();
    await feed(sender);
    for (let day = 10; day < 16; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    await until(async () => (await queue.getJobs()).length === 6);
    await redis.flushAll();
    await until(async () => (await queue.getJobs()).length === 6);
    work(sender);
    await until(() => sender.kept.length >= 6);
    expect(new Set(sender.kept.map(({ messageId }) => messageId)).size).toBe(6);
  });

  it('wait in the database while Redis is away, and booking does not wait for it', async () => {
    const sender = new KeepingSender();
    await feed(sender);
    work(sender);
    await bookAt(desk, '2026-06-10T13:30:00Z');
    await until(() => sender.kept.length === 1);

    await redis.stop();
    const before = Date.now();
    for (let day = 11; day < 17; day += 1) await bookAt(desk, `2026-06-${day}T13:30:00Z`);
    expect(Date.now() - before).toBeLessThan(5_000);
    await new Promise((later) => setTimeout(later, 1_500));
    expect(sender.kept).toHaveLength(1);

    await redis.start();
    await until(() => sender.kept.length >= 7);
    expect(new Set(sender.kept.map(({ messageId }) => messageId)).size).toBe(7);
    await until(async () => (await desk.messages.counts(desk.salon.id)).sent === 7);
    expect(await desk.messages.counts(desk.salon.id)).toMatchObject({ owed: 7 });
  });

  it('that were refused for good do not come again until the desk says so', async () => {
    let refuse = true;
    const sender = new KeepingSender(async () => {
      if (refuse) throw new DeliveryError('550 no', true);
    });
    await feed(sender);
    work(sender);
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    await until(async () => (await messagesOf(desk, id))[0]?.state === 'failed');
    await until(async () => (await queue.getJobs()).length === 0);

    refuse = false;
    const [failed] = await messagesOf(desk, id);
    await desk.messages.retry(failed!.id, { accountId: null, role: 'system' });
    await until(() => sender.kept.length === 1);
    await until(async () => (await messagesOf(desk, id))[0]?.state === 'sent');
    expect((await messagesOf(desk, id))[0]).toMatchObject({ attempts: 1 });
  });

  it('in trouble come back when their wait is over, which the database keeps', async () => {
    const sender = new KeepingSender(() => Promise.reject(new DeliveryError('451 busy', false)));
    await feed(sender);
    work(sender);
    const { id } = await bookAt(desk, '2026-06-18T13:30:00Z');
    await until(async () => (await messagesOf(desk, id))[0]?.lastError === '451 busy');
    const [message] = await messagesOf(desk, id);
    expect(message?.notBefore).toBe(desk.clock.now() + 60_000);
    await until(async () => (await queue.getJob(message!.id).then((job) => job?.getState())) === 'delayed');
    const delayed = await queue.getDelayed();
    expect(delayed).toHaveLength(1);
    expect(delayed[0]?.delay).toBeGreaterThan(59_000);
  });
});

describe('the program with REDIS_URL set', () => {
  it('queues in the web process, sends in the worker process, and both stop by themselves', async () => {
    const redis = await openRedis();
    const folder = await mkdtemp(join(tmpdir(), 'halfinch-redis-program-'));
    const settings = readSettings({ HALFINCH_DATA: folder, REDIS_URL: redis.url, DISPATCH_EVERY_MS: '50' });
    const start = async (jobs: typeof JobsModule | typeof WorkerModule) => {
      const store = StoreModule.with({ settings, entities: ENTITIES, migrations: MIGRATIONS });
      const app = await Test.createTestingModule({ imports: [store, IdentityModule, jobs] }).compile();
      return await app.init();
    };
    const web = await start(JobsModule);
    const house = await makeSalon({ salons: web.get(Salons, { strict: false }) });
    const { client } = await web
      .get(Clients, { strict: false })
      .add({ ...CLIENT_INPUT, salonId: house.salon.id, email: 'ottilie@example.org' }, SYSTEM);
    const date = new Date(Date.now() + 20 * 86_400_000).toISOString().slice(0, 10);
    await web
      .get(Book, { strict: false })
      .book(
        { clientId: client.id, staffId: house.mara.id, serviceId: house.fullCut.id, date, time: '14:30' },
        SYSTEM,
      );
    const counts = () => web.get(Messages, { strict: false }).counts(house.salon.id);
    await new Promise((later) => setTimeout(later, 300));
    expect(await counts()).toMatchObject({ sent: 0, owed: 2 });

    const worker = await start(WorkerModule);
    await until(async () => (await counts()).sent === 1);
    expect(await readdir(join(folder, 'outbox'))).toHaveLength(1);
    await worker.close();
    await web.close();
    await redis.close();
    await rm(folder, { recursive: true });
  });
});
