import type { Redis } from 'ioredis';
import { connectRedis } from './redis.js';

/** Undefined: something may have been missed. */
export type Hear = (message: string | undefined) => void;

/**
 * What the processes of one installation share besides the database, all of it dispensable: news that is told again
 * whenever somebody looks, and counts of attempts. This one is for a process that is alone.
 */
export class Shared {
  private readonly hearers = new Map<string, Set<Hear>>();

  /** The connection for a library that counts by itself; undefined where the process is alone. */
  readonly redis: Redis | undefined = undefined;

  /** Tells every process's subscribers, ours included. Returns at once; what is told may get lost or come late. */
  publish(channel: string, message: string): void {
    this.tell(channel, message);
  }

  /** Returns what ends the subscription. */
  subscribe(channel: string, hear: Hear): () => void {
    const hearers = this.hearers.get(channel) ?? new Set();
    this.hearers.set(channel, hearers.add(hear));
    return () => hearers.delete(hear);
  }

  /** What Redis answers; undefined where there is none or it is away. */
  async ask<T>(_work: (redis: Redis) => Promise<T>): Promise<T | undefined> {
    return undefined;
  }

  async close(): Promise<void> {
    this.hearers.clear();
  }

  protected tell(channel: string, message: string | undefined): void {
    for (const hear of this.hearers.get(channel) ?? []) hear(message);
  }

  protected tellAllOfGap(): void {
    for (const channel of this.hearers.keys()) this.tell(channel, undefined);
  }
}

const PREFIX = 'halfinch:';

/** For several processes. While Redis is away each is on its own, and hears of a gap when it comes back. */
export class SharedByRedis extends Shared {
  override readonly redis: Redis;
  private readonly listener: Redis;

  constructor(url: string) {
    super();
    this.redis = connectRedis(url, {
      waits: false,
      without: 'each process counts attempts for itself meanwhile',
    });
    this.listener = connectRedis(url, {
      waits: true,
      without: 'pages hear only of what their own process changes meanwhile',
    });
    this.listener.on('message', (channel: string, message: string) =>
      this.tell(channel.slice(PREFIX.length), message),
    );
    let isBack = false;
    this.listener.on('ready', () => {
      if (isBack) this.tellAllOfGap();
      isBack = true;
    });
  }

  override publish(channel: string, message: string): void {
    this.redis.publish(PREFIX + channel, message).catch(() => this.tell(channel, message));
  }

  override subscribe(channel: string, hear: Hear): () => void {
    this.listener.subscribe(PREFIX + channel).catch(() => undefined);
    return super.subscribe(channel, hear);
  }

  override async ask<T>(work: (redis: Redis) => Promise<T>): Promise<T | undefined> {
    return await work(this.redis).catch(() => undefined);
  }

  override async close(): Promise<void> {
    await super.close();
    this.redis.disconnect();
    this.listener.disconnect();
  }
}
