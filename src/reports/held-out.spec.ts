import { describe, expect, it } from '@jest/globals';
import { newId } from '../store/index.js';
import { isHeldOut } from './held-out.js';
import { shareDifference } from './share-difference.js';
import { wilson } from './wilson.js';

describe('isHeldOut', () => {
  const clients = Array.from({ length: 20_000 }, () => newId());

  it('leaves out about the share asked for, always the same clients, and more of them at more', () => {
    for (const percent of [0, 5, 10, 50]) {
      const out = clients.filter((id) => isHeldOut(id, percent));
      // Four standard errors of 20,000 draws.
      expect(Math.abs(out.length / clients.length - percent / 100)).toBeLessThan(0.0142);
      expect(clients.filter((id) => isHeldOut(id, percent))).toEqual(out);
      expect(out.every((id) => percent === 50 || isHeldOut(id, percent + 1))).toBe(true);
    }
    expect(clients.some((id) => isHeldOut(id, 0))).toBe(false);
  });
});

describe('shareDifference', () => {
  // Newcombe 1998, Stat Med 17:873-890, table II, method 10 (from memory).
  it.each([
    [56, 70, 48, 80, 0.2, 0.0524, 0.3339],
    [9, 10, 3, 10, 0.6, 0.1705, 0.809],
    [10, 10, 0, 20, 1, 0.6791, 1],
  ])('gives the published interval of %i/%i - %i/%i', (a, m, b, n, difference, low, high) => {
    const interval = shareDifference(wilson(a, m), wilson(b, n));
    expect(interval.difference).toBeCloseTo(difference, 10);
    expect(interval.low).toBeCloseTo(low, 4);
    expect(interval.high).toBeCloseTo(high, 4);
  });

  it('refuses a group without cases', () => {
    expect(() => shareDifference(wilson(0, 0), wilson(1, 2))).toThrow(RangeError);
  });
});
