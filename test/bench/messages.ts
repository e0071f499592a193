import { Worker } from 'bullmq';
import { MessageQueue } from '../../src/jobs/message-queue.js';
import { MessageWorker } from '../../src/jobs/message-worker.js';
import { MESSAGE_QUEUE } from '../../src/jobs/queue-name.js';
import { connectRedis } from '../../src/store/index.js';
import { KeepingSender, partsOf, type TestDesk } from '../factories/reminders.js';
import { openRedis } from '../factories/reminders-drivers.js';
import { deskOwing } from '../factories/reminders-kill.js';
import type { BenchRow } from './engine.js';

const ROUNDS = 3;
/** Of BullMQ's own speed. */
const LEAST_RATIO = 0.7;

/** Queues what the desk owes and times how long a worker takes to be done with all of it, in milliseconds. */
async function timed(
  url: string,
  desk: TestDesk,
  begin: (done: () => void) => () => Promise<void>,
): Promise<number> {
  const messages = new MessageQueue(url);
  await messages.sweep(desk.reader.manager, Date.now(), true);
  const begun = performance.now();
  let end: () => Promise<void> = async () => undefined;
  await new Promise<void>((done) => {
    end = begin(done);
  });
  const took = performance.now() - begun;
  await end();
  await messages.close();
  return took;
}

/**
 * What carrying a message costs beside what BullMQ itself costs: BullMQ with an empty handler, our worker with a
 * dispatcher that does nothing, and our worker with all that a message takes but the network (lease, judgement, words,
 * record) in one run, at the same concurrency.
 */
export async function benchMessages(count = 2_000): Promise<BenchRow[]> {
  const redis = await openRedis();
  const desk = await deskOwing(count);
  desk.clock.at = Date.now();
  const { dispatcher } = partsOf(desk, new KeepingSender());
  const concurrency = dispatcher.atOnce;

  const empty = () =>
    timed(redis.url, desk, (done) => {
      const connection = connectRedis(redis.url);
      let left = count;
      const worker = new Worker(MESSAGE_QUEUE, async () => undefined, { connection, concurrency });
      worker.on('completed', () => {
        left -= 1;
        if (left === 0) done();
      });
      return async () => {
        await worker.close();
        connection.disconnect();
      };
    });
  const ours = (deliverOne: typeof dispatcher.deliverOne) =>
    timed(redis.url, desk, (done) => {
      let left = count;
      const options = { redisUrl: redis.url, atOnce: concurrency, lockMs: 30_000 };
      const worker = new MessageWorker(options, { deliverOne }, desk.clock);
      worker.worker.on('completed', () => {
        left -= 1;
        if (left === 0) done();
      });
      worker.onApplicationBootstrap();
      return () => worker.beforeApplicationShutdown();
    });

  // By turns, and the best of each: what else the machine does only ever adds time.
  const bare: number[] = [];
  const carried: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    bare.push(await empty());
    carried.push(await ours(async () => ({ outcome: 'sent' })));
  }
  const whole = await ours((id) => dispatcher.deliverOne(id));
  await desk.close();
  await redis.close();

  const row = (name: string, took: number, budget: number | null): BenchRow => ({
    name: `message, ${name}`,
    value: took / count,
    unit: 'ms',
    budget,
  });
  return [
    row('BullMQ with an empty handler', Math.min(...bare), null),
    row('our worker with an empty dispatcher', Math.min(...carried), Math.min(...bare) / count / LEAST_RATIO),
    row('our worker with all but the network', whole, null),
  ];
}
