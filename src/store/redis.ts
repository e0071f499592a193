import { createRequire } from 'node:module';
import { Logger } from '@nestjs/common';
import type { Redis, RedisOptions } from 'ioredis';

/** Loaded by whoever has a Redis: others need not hold it in memory. */
const require = createRequire(import.meta.url);

const LONGEST_RECONNECT_WAIT_MS = 2_000;
const ANSWER_WITHIN_MS = 1_000;

/** BullMQ wants commands of its workers to wait for ever rather than to fail. */
const PATIENT: RedisOptions = { maxRetriesPerRequest: null };

/** Whoever asks has somebody waiting and knows what to do without an answer. */
const HASTY: RedisOptions = {
  maxRetriesPerRequest: 0,
  enableOfflineQueue: false,
  commandTimeout: ANSWER_WITHIN_MS,
};

export type RedisUse = {
  /** Whether what is asked while Redis is away waits for it, or fails at once. */
  readonly waits: boolean;
  /** What it means that Redis is away, as the log says it. */
  readonly without: string;
};

const MESSAGES: RedisUse = { waits: true, without: 'messages stay owed in the database meanwhile' };

/** A connection that comes back by itself however long Redis is away. */
export function connectRedis(url: string, { waits, without }: RedisUse = MESSAGES): Redis {
  const log = new Logger('Redis');
  let told = '';
  const ioredis: typeof import('ioredis') = require('ioredis');
  const redis = new ioredis.Redis(url, {
    ...(waits ? PATIENT : HASTY),
    retryStrategy: (times) => Math.min(50 * 2 ** Math.min(times, 10), LONGEST_RECONNECT_WAIT_MS),
  });
  redis.on('error', (error: Error) => {
    if (error.message === told) return;
    told = error.message;
    log.warn(`Redis is away; ${without}: ${error.message}`);
  });
  redis.on('ready', () => {
    if (told !== '') log.log('Redis is back.');
    told = '';
  });
  return redis;
}
