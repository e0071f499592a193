import { Logger } from '@nestjs/common';
import { Redis } from 'ioredis';

/** Name of the queue in Redis. */
export const MESSAGE_QUEUE = 'halfinch-messages';

const LONGEST_RECONNECT_WAIT_MS = 2_000;

/** A connection that comes back by itself however long Redis is away; what is asked meanwhile waits. */
export function connectRedis(url: string): Redis {
  const log = new Logger('Redis');
  let told = '';
  const redis = new Redis(url, {
    // BullMQ wants commands of its workers to wait for ever rather than to fail.
    maxRetriesPerRequest: null,
    retryStrategy: (times) => Math.min(50 * 2 ** Math.min(times, 10), LONGEST_RECONNECT_WAIT_MS),
  });
  redis.on('error', (error: Error) => {
    if (error.message === told) return;
    told = error.message;
    log.warn(`Redis is away; messages stay owed in the database meanwhile: ${error.message}`);
  });
  redis.on('ready', () => {
    if (told !== '') log.log('Redis is back.');
    told = '';
  });
  return redis;
}
