import { type BeforeApplicationShutdown, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import { DelayedError, type Job, UnrecoverableError, Worker } from 'bullmq';
import type { Redis } from 'ioredis';
import type { Clock } from '../base/index.js';
import type { Dispatcher } from '../reminders/index.js';
import type { Delivery } from '../store/index.js';
import { connectRedis } from '../store/index.js';
import { MESSAGE_QUEUE } from './queue-name.js';

/** A message that somebody else has in hand comes back no sooner. */
const LEAST_WAIT_MS = 50;
const LEAST_LOCK_MS = 1_000;

export type WorkerOptions = {
  readonly redisUrl: string;
  /** Messages in hand at a time. */
  readonly atOnce: number;
  /** After so long without a sign of life a job is another worker's, in milliseconds. */
  readonly lockMs: number;
};

/**
 * Takes messages from Redis and has the dispatcher send them, the same as the embedded driver does; the database
 * says whether one is due, whose it is, and when it may be tried again.
 */
export class MessageWorker implements OnApplicationBootstrap, BeforeApplicationShutdown {
  private readonly log = new Logger('MessageWorker');
  private readonly redis: Redis;
  readonly worker: Worker;

  constructor(
    options: WorkerOptions,
    private readonly dispatcher: Pick<Dispatcher, 'deliverOne'>,
    private readonly clock: Clock,
    queue = MESSAGE_QUEUE,
  ) {
    const lockDuration = Math.max(LEAST_LOCK_MS, options.lockMs);
    this.redis = connectRedis(options.redisUrl);
    this.worker = new Worker(queue, (job, token) => this.carry(job, token), {
      connection: this.redis,
      autorun: false,
      concurrency: options.atOnce,
      lockDuration,
      stalledInterval: lockDuration,
      // How often a message may be tried is the database's to say, not the queue's.
      maxStalledCount: Number.MAX_SAFE_INTEGER,
    });
    // Said already by the connection.
    this.worker.on('error', () => undefined);
    this.worker.on('failed', (job, error) => {
      if (!(error instanceof UnrecoverableError)) this.log.error(`Message ${job?.id}: ${error.message}`);
    });
  }

  onApplicationBootstrap(): void {
    this.worker.run().catch((error: Error) => this.log.error(error.message, error.stack));
  }

  /** Finishes what it has in hand and leaves the rest in Redis. */
  async beforeApplicationShutdown(): Promise<void> {
    await this.worker.close();
    this.redis.disconnect();
  }

  private async carry(job: Job, token: string | undefined): Promise<Delivery['outcome']> {
    const delivery = await this.dispatcher.deliverOne(job.id!);
    if (delivery.outcome === 'failed') throw new UnrecoverableError(delivery.words);
    if (delivery.outcome === 'waiting') {
      const waitMs = Math.max(LEAST_WAIT_MS, delivery.until - this.clock.now());
      await job.moveToDelayed(Date.now() + waitMs, token);
      throw new DelayedError();
    }
    return delivery.outcome;
  }
}
