import { Queue } from 'bullmq';
import type { Redis } from 'ioredis';
import { type EntityManager, In, LessThanOrEqual } from 'typeorm';
import { connectRedis, type OwedRow } from '../store/index.js';
import { type Carried, MESSAGES } from './queue-name.js';

/** What is due later than this waits in the database; a sweep brings it when its time draws near. */
const HORIZON_MS = 3_600_000;
const ADDED_TOGETHER = 1_000;
const CLOSE_WITHIN_MS = 1_000;

/**
 * Tries on errors that are not a message's own, such as a full disk; the database counts the real attempts. A job
 * that is over leaves Redis at once, so that its message can be queued again under the same id.
 */
const JOB = {
  attempts: 5,
  backoff: { type: 'exponential', delay: 1_000, jitter: 0.5 },
  removeOnComplete: true,
  removeOnFail: true,
} as const;

/** What is owed, as jobs in Redis: job id = row id, so that queuing one twice is queuing it once. */
export class MessageQueue {
  private readonly redis: Redis;
  readonly queue: Queue;

  constructor(
    url: string,
    private readonly carried: Carried = MESSAGES,
  ) {
    this.redis = connectRedis(url);
    this.queue = new Queue(carried.queue, { connection: this.redis, skipMetasUpdate: true });
    this.queue.on('error', () => undefined);
  }

  /** Queues those of these rows that are owed and due soon. */
  async feed(manager: EntityManager, ids: readonly string[], now: number): Promise<void> {
    await this.add(await manager.find(this.carried.entity, { ...owedSoon(now), ...only(ids, now) }), now);
  }

  /**
   * Queues everything that is owed and due soon and that Redis does not have; Redis itself tells them apart. With
   * `suspicious` false it does so only where Redis has fewer jobs than there are messages, which is cheap to ask.
   */
  async sweep(manager: EntityManager, now: number, suspicious: boolean): Promise<void> {
    if (!suspicious) {
      const counts = await this.queue.getJobCounts();
      const queued = Object.values(counts).reduce((sum, count) => sum + count, 0);
      if (queued >= (await manager.count(this.carried.entity, owedSoon(now)))) return;
    }
    await this.add(await manager.find(this.carried.entity, owedSoon(now)), now);
  }

  /**
   * Whether the caller is the one among all processes to sweep with suspicion: once in `everyMs` milliseconds. Asked of Redis,
   * so that one which was emptied is looked through anew at once.
   */
  async takeTurn(everyMs: number): Promise<boolean> {
    return (await this.redis.set(`${this.carried.queue}:swept`, '1', 'PX', everyMs, 'NX')) === 'OK';
  }

  /** Does not wait for a Redis that is away. */
  async close(): Promise<void> {
    const patience = new Promise<void>((over) => {
      setTimeout(over, CLOSE_WITHIN_MS).unref();
    });
    await Promise.race([this.queue.close().catch(() => undefined), patience]);
    this.redis.disconnect();
  }

  private async add(messages: readonly OwedRow[], now: number): Promise<void> {
    for (let i = 0; i < messages.length; i += ADDED_TOGETHER) {
      await this.queue.addBulk(
        messages.slice(i, i + ADDED_TOGETHER).map(({ id, dueAt, notBefore }) => ({
          name: 'message',
          data: {},
          opts: { ...JOB, jobId: id, delay: Math.max(0, dueAt - now, (notBefore ?? 0) - now) },
        })),
      );
    }
  }
}

function owedSoon(now: number) {
  return {
    select: { id: true, dueAt: true, notBefore: true } as const,
    where: { state: 'owed' as const, dueAt: LessThanOrEqual(now + HORIZON_MS) },
    order: { dueAt: 'ASC' as const, id: 'ASC' as const },
  };
}

function only(ids: readonly string[], now: number) {
  return { where: { ...owedSoon(now).where, id: In([...ids]) } };
}
