import type { Shared } from '../store/index.js';
import { Slowdown, type SlowdownRules } from './slowdown.js';

/** `Slowdown.begin` inside Redis, so that no two processes count past each other. */
const BEGIN = `
local now, free, first, most, forget =
  tonumber(ARGV[1]), tonumber(ARGV[2]), tonumber(ARGV[3]), tonumber(ARGV[4]), tonumber(ARGV[5])
local old = redis.call('HMGET', KEYS[1], 'failures', 'lastAt', 'until')
local failures, last, wait_until = tonumber(old[1] or 0), tonumber(old[2] or now), tonumber(old[3] or 0)
if now - last >= forget then failures, wait_until = 0, 0 end
if now < wait_until then return wait_until - now end
failures = failures + 1
local beyond = failures - free
wait_until = 0
if beyond > 0 then wait_until = now + math.min(first * 2 ^ math.min(beyond - 1, 50), most) end
redis.call('HSET', KEYS[1], 'failures', failures, 'lastAt', now, 'until', wait_until)
redis.call('PEXPIRE', KEYS[1], forget)
return 0`;

const UNDO = `
local failures = tonumber(redis.call('HGET', KEYS[1], 'failures') or 0) - 1
if failures <= 0 then return redis.call('DEL', KEYS[1]) end
return redis.call('HSET', KEYS[1], 'failures', failures, 'until', 0)`;

/**
 * A slow-down that counts for all processes together, in Redis, and for this one alone where there is none or it is
 * away: then somebody who guesses has as many free guesses as there are processes, but no more.
 */
export class SharedSlowdown {
  private readonly alone: Slowdown;

  constructor(
    private readonly shared: Shared,
    private readonly name: string,
    private readonly rules: SlowdownRules,
  ) {
    this.alone = new Slowdown(rules);
  }

  /** Counts an attempt and returns 0, or returns the milliseconds still to wait and counts nothing. */
  async begin(key: string, now: number): Promise<number> {
    const { free, firstMs, mostMs, forgetMs } = this.rules;
    const waitMs = await this.shared.ask((redis) =>
      redis.eval(BEGIN, 1, this.at(key), now, free, firstMs, mostMs, forgetMs),
    );
    return waitMs === undefined ? this.alone.begin(key, now) : Number(waitMs);
  }

  /** Takes back one attempt: it was none. */
  async undo(key: string): Promise<void> {
    await this.shared.ask((redis) => redis.eval(UNDO, 1, this.at(key)));
    this.alone.undo(key);
  }

  /** Forgets every failure: the right person came. */
  async clear(key: string): Promise<void> {
    await this.shared.ask((redis) => redis.del(this.at(key)));
    this.alone.clear(key);
  }

  private at(key: string): string {
    return `halfinch:slow:${this.name}:${key}`;
  }
}
