import { describe, expect, it } from '@jest/globals';
import { backoffMs } from './backoff.js';

const MINUTE_MS = 60_000;

describe('backoffMs', () => {
  it('waits a minute, then three times as long each time, up to four hours', () => {
    const longest = [1, 2, 3, 4, 5, 6, 7].map((attempts) => backoffMs(attempts, () => 1) / MINUTE_MS);
    expect(longest).toEqual([1, 3, 9, 27, 81, 240, 240]);
  });

  // Equal jitter: half of the wait is kept, half drawn by lot (AWS Architecture Blog, 2015).
  it('draws half of the wait by lot', () => {
    expect(backoffMs(3, () => 0)).toBe(4.5 * MINUTE_MS);
    expect(backoffMs(3, () => 0.5)).toBe(6.75 * MINUTE_MS);
  });
});
