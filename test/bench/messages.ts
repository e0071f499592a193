import { type Job, Worker } from 'bullmq';
import { MessageQueue } from '../../src/jobs/message-queue.js';
import { MessageWorker } from '../../src/jobs/message-worker.js';
import { MESSAGE_QUEUE } from '../../src/jobs/queue-name.js';
import { Dispatcher, Message, USUAL_POLICY } from '../../src/reminders/index.js';
import { NoTextGateway } from '../../src/reminders/text-gateway.js';
import { connectRedis } from '../../src/store/index.js';
import { KeepingSender, partsOf, type TestDesk } from '../factories/reminders.js';
import { openRedis } from '../factories/reminders-drivers.js';
import { deskOwing } from '../factories/reminders-kill.js';
import type { BenchRow } from './row.js';

const ROUNDS = 3;
/** Of BullMQ's own speed. */
const LEAST_RATIO = 0.7;

/** Milliseconds by the clock, and of processor time that this process took. */
type Took = { readonly wall: number; readonly cpu: number };

function stopwatch(): () => Took {
  const begun = performance.now();
  const cpu = process.cpuUsage();
  return () => {
    const { user, system } = process.cpuUsage(cpu);
    return { wall: performance.now() - begun, cpu: (user + system) / 1000 };
  };
}

/** Queues what the desk owes and times how long a worker takes to be done with all of it. */
async function timed(
  url: string,
  desk: TestDesk,
  begin: (done: () => void) => () => Promise<void>,
): Promise<Took> {
  const messages = new MessageQueue(url);
  await messages.sweep(desk.reader.manager, Date.now(), true);
  const stop = stopwatch();
  let end: () => Promise<void> = async () => undefined;
  await new Promise<void>((done) => {
    end = begin(done);
  });
  const took = stop();
  await end();
  await messages.close();
  return took;
}

/** Owes everything anew. */
const oweAgain = (desk: TestDesk) =>
  desk.units.run((manager) =>
    manager.query(
      `UPDATE message SET state = 'owed', attempts = 0, "leaseId" = NULL, "notBefore" = NULL, "sentAt" = NULL`,
    ),
  );

/** As a verdict says it: to be sent, in no words. */
const NO_WORDS = {
  mail: {},
  wording: { subject: '', text: '', language: 'en', template: '', address: '', segments: null },
};

/**
 * What carrying a message costs beside what BullMQ itself costs, in one run, by turns, at the same concurrency: BullMQ
 * with an empty handler; with one that does one durable write, as any must that never sends twice; our worker with a
 * dispatcher that does nothing; our worker with all that a message takes but the network (lease, link, judgement, words,
 * record). And the embedded driver with and without judgement and words. The best of several rounds: what else the machine
 * does only ever adds to them, to processor time the least. On PostgreSQL its own
 * processor time is not in the figures.
 */
export async function benchMessages(count = 1_000): Promise<BenchRow[]> {
  const redis = await openRedis();
  const desk = await deskOwing(count);
  desk.clock.at = Date.now();
  const sender = new KeepingSender();
  const { dispatcher, leases } = partsOf(desk, sender);
  const judge = { judge: async () => NO_WORDS } as never;
  const wordless = new Dispatcher(leases, desk.clock, judge, sender, new NoTextGateway(), USUAL_POLICY);
  const concurrency = dispatcher.atOnce;

  /** Whoever carries tells by `done` how many are left. */
  const carried = (start: (count: () => void) => () => Promise<void>) =>
    timed(redis.url, desk, (done) => {
      let left = count;
      return start(() => {
        left -= 1;
        if (left === 0) done();
      });
    });
  const bullmq = (handler: (job: Job) => Promise<void>) =>
    carried((one) => {
      const connection = connectRedis(redis.url);
      const worker = new Worker(MESSAGE_QUEUE, handler, { connection, concurrency });
      worker.on('completed', one);
      return async () => {
        await worker.close();
        connection.disconnect();
      };
    });
  const ours = (deliverOne: typeof dispatcher.deliverOne) =>
    carried((one) => {
      const options = { redisUrl: redis.url, atOnce: concurrency, lockMs: 30_000 };
      const worker = new MessageWorker(options, { deliverOne }, desk.clock);
      worker.worker.on('completed', one);
      worker.onApplicationBootstrap();
      return () => worker.beforeApplicationShutdown();
    });
  const embedded = async (by: Dispatcher) => {
    await oweAgain(desk);
    const stop = stopwatch();
    await by.deliverDue(count);
    return stop();
  };

  const ways = {
    'BullMQ with an empty handler': () => bullmq(async () => undefined),
    'BullMQ with one durable write': () =>
      bullmq(async ({ id }) => {
        await desk.units.run((manager) => manager.update(Message, { id }, { attempts: 1 }));
      }),
    'our worker with an empty dispatcher': () => ours(async () => ({ outcome: 'sent' })),
    'our worker with all but the network': () => ours((id) => dispatcher.deliverOne(id)),
    'embedded, leases, links and records alone': () => embedded(wordless),
    'embedded with all but the network': () => embedded(dispatcher),
  };
  const best = new Map<string, Took>();
  // The first round only warms up.
  for (let round = 0; round <= ROUNDS; round += 1) {
    for (const [name, way] of Object.entries(ways)) {
      await oweAgain(desk);
      sender.kept.length = 0;
      const { wall, cpu } = await way();
      const known = (round > 0 && best.get(name)) || { wall, cpu };
      best.set(name, { wall: Math.min(known.wall, wall), cpu: Math.min(known.cpu, cpu) });
    }
  }
  await desk.close();
  await redis.close();

  const took = (name: keyof typeof ways) => best.get(name) ?? { wall: 0, cpu: 0 };
  const bare = took('BullMQ with an empty handler');
  const written = took('BullMQ with one durable write');
  const whole = took('our worker with all but the network');
  const row = (
    name: string,
    value: number,
    unit: 'ms' | 'ratio',
    budget: number | null = null,
  ): BenchRow => ({
    name: `message, ${name}`,
    value,
    unit,
    budget,
  });
  const rows = (Object.keys(ways) as (keyof typeof ways)[]).flatMap((name) => {
    const { wall, cpu } = took(name);
    const budget = name === 'our worker with an empty dispatcher' ? bare.cpu / count / LEAST_RATIO : null;
    return [row(name, wall / count, 'ms'), row(`${name}, processor`, cpu / count, 'ms', budget)];
  });
  return [
    ...rows,
    row('our speed against BullMQ with an empty handler', bare.wall / whole.wall, 'ratio'),
    row('our speed against BullMQ with one durable write', written.wall / whole.wall, 'ratio'),
    row('our processor time against BullMQ with one durable write', whole.cpu / written.cpu, 'ratio'),
  ];
}
