import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Slowdown } from './slowdown.js';

const RULES = { free: 3, firstMs: 1000, mostMs: 60_000, forgetMs: 3_600_000 };

describe('slowing down guesses', () => {
  it('lets the free ones through, then doubles the wait up to the most', () => {
    const slowdown = new Slowdown(RULES);
    let now = 0;
    const waits: number[] = [];
    for (let i = 0; i < 12; i += 1) {
      expect(slowdown.begin('k', now)).toBe(0);
      const wait = slowdown.begin('k', now);
      // With no wait the second call was counted as an attempt of its own: take it back.
      if (wait === 0) slowdown.undo('k');
      waits.push(wait);
      now += wait;
    }
    expect(waits).toEqual([0, 0, 0, 1000, 2000, 4000, 8000, 16_000, 32_000, 60_000, 60_000, 60_000]);
  });

  it('forgets after success and after a long time, and keeps keys apart', () => {
    const slowdown = new Slowdown({ ...RULES, free: 1 });
    slowdown.begin('a', 0);
    slowdown.begin('a', 0);
    expect(slowdown.begin('a', 0)).toBe(1000);
    expect(slowdown.begin('b', 0)).toBe(0);
    slowdown.clear('a');
    expect(slowdown.begin('a', 0)).toBe(0);
    slowdown.begin('a', 0);
    expect(slowdown.begin('a', 10)).toBe(990);
    expect(slowdown.begin('a', RULES.forgetMs + 10)).toBe(0);
  });

  it('allows no more guesses in a day than the waits add up to, however they are spread', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 0, max: 90_000 }), { maxLength: 400 }), (gaps) => {
        const slowdown = new Slowdown(RULES);
        let now = 0;
        let counted = 0;
        for (const gap of gaps) {
          now += gap;
          if (slowdown.begin('k', now) === 0) counted += 1;
        }
        // Six doublings reach the most; every later guess costs a minute.
        expect(counted).toBeLessThanOrEqual(RULES.free + 7 + Math.floor(now / RULES.mostMs) + 1);
      }),
    );
  });

  it('keeps a bounded number of tallies', () => {
    const slowdown = new Slowdown({ ...RULES, free: 0 });
    slowdown.begin('first', 0);
    for (let i = 0; i < 20_000; i += 1) slowdown.begin(`key ${i}`, 0);
    expect(slowdown.begin('first', 0)).toBe(0);
    expect(slowdown.begin('key 19999', 0)).toBeGreaterThan(0);
  });
});
