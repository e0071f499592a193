const FIRST_WAIT_MS = 60_000;
const GROWTH = 3;
const LONGEST_WAIT_MS = 4 * 3_600_000;

/**
 * Milliseconds to wait after the given number of failed attempts (1 or more): a minute, then three times as
 * long each time, four hours at most. Half of it is drawn by lot ("equal jitter", AWS Architecture Blog,
 * "Exponential Backoff and Jitter", 2015), so that a server that comes back is not met by everybody at once.
 * `random` gives numbers from 0 (included) to 1 (excluded). Seven waits come to between 5 and 10 hours.
 */
export function backoffMs(attempts: number, random: () => number): number {
  const wait = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * GROWTH ** (attempts - 1));
  return Math.round(wait * (0.5 + 0.5 * random()));
}
