export type SlowdownRules = {
  /** Failures that cost nothing. */
  readonly free: number;
  /** Wait after the first failure beyond them; every further one doubles it. */
  readonly firstMs: number;
  readonly mostMs: number;
  /** Failures older than this are forgotten. */
  readonly forgetMs: number;
};

type Tally = { failures: number; lastAt: number; until: number };

/** Tallies kept at most; beyond that the oldest is dropped, so that a flood of names cannot fill the memory. */
const MOST_TALLIES = 20_000;

/**
 * Makes guessing slow: after some free failures each attempt must wait twice as long as the one before. An attempt is
 * counted when it begins, so that many at once get no free guesses. Kept in memory: a restart forgets.
 */
export class Slowdown {
  private readonly tallies = new Map<string, Tally>();

  constructor(private readonly rules: SlowdownRules) {}

  /** Counts an attempt and returns 0, or returns the milliseconds still to wait and counts nothing. */
  begin(key: string, now: number): number {
    const { free, firstMs, mostMs, forgetMs } = this.rules;
    const old = this.tallies.get(key);
    const tally = old && now - old.lastAt < forgetMs ? old : { failures: 0, lastAt: now, until: 0 };
    if (now < tally.until) return tally.until - now;
    tally.failures += 1;
    tally.lastAt = now;
    const beyond = tally.failures - free;
    tally.until = beyond > 0 ? now + Math.min(firstMs * 2 ** (beyond - 1), mostMs) : 0;
    this.tallies.delete(key);
    this.tallies.set(key, tally);
    const [oldest] = this.tallies.keys();
    if (this.tallies.size > MOST_TALLIES && oldest !== undefined) this.tallies.delete(oldest);
    return 0;
  }

  /** Takes back one attempt: it was none. */
  undo(key: string): void {
    const tally = this.tallies.get(key);
    if (!tally) return;
    tally.failures -= 1;
    tally.until = 0;
    if (tally.failures <= 0) this.tallies.delete(key);
  }

  /** Forgets every failure: the right person came. */
  clear(key: string): void {
    this.tallies.delete(key);
  }
}
