import { describe, expect, it } from '@jest/globals';

import { growthPrior, initialProfile } from '../growth/index.js';
import { normalCdf } from '../stats/index.js';
import { batchOf, goneBy, packWindow, windowsOf } from './index.js';

const profile = initialProfile(growthPrior());
/** Spread of a fresh client's rate, mm a day: person and zone together. */
const SD = Math.hypot(0.06, 0.028);
const packed = (mm: number, ...moreMm: readonly number[]) =>
  packWindow({
    profile,
    cutOn: '2026-03-02',
    zones: [],
    limits: [mm, ...moreMm].map((limitMm, k) => ({
      kind: 'grown-by',
      zone: k === 0 ? 'nape' : 'top',
      mm: limitMm,
    })),
  });

describe('a book of clients', () => {
  // Rows of unequal length, so that each must end where the next starts.
  const batch = batchOf([packed(12), packed(60, 10, 50), packed(20)]);

  it('lays rows one after the other', () => {
    // 28 numbers of the client, 10 for each limit.
    expect([...batch.starts]).toEqual([0, 38, 96]);
    expect(batch.rows).toHaveLength(38 + 58 + 38);
    expect([...batch.rows.subarray(96)]).toEqual([...packed(20)]);
  });

  it('has the windows of its clients, and which limit has likeliest gone when they are due', () => {
    // Closed form for one limit: mm / (0.35 + z × 0.0662) with z = 1.2816, 0, -1.2816.
    const { earliestDays, dueDays, latestDays, limit } = windowsOf(batch);
    const expected = (z: number) => [12, 10, 20].map((mm) => Math.round(mm / (0.35 + z * SD)));
    expect([...earliestDays]).toEqual(expected(1.2815515655));
    expect([...dueDays]).toEqual(expected(0));
    expect([...latestDays]).toEqual(expected(-1.2815515655));
    // The second client's top goes at 10 mm, long before the 60 of the nape.
    expect([...limit]).toEqual([0, 1, 0]);
  });

  it('says how many shapes have gone by a day of each', () => {
    // Gone when rate × days > mm: Φ((0.35 × days - mm) / (0.0662 × days)).
    const days = [30, 40, 50];
    const gone = goneBy(batch, days);
    [12, 10, 20].forEach((mm, i) => {
      const day = days[i] as number;
      // The sum over nine kinds of person, where there are several limits, comes within 0.002.
      expect(Math.abs((gone[i] as number) - normalCdf((0.35 * day - mm) / (SD * day)))).toBeLessThan(0.002);
    });
    // Before the cut, and where no day is given, as on the day of the cut: nothing has gone.
    [...goneBy(batch, [-30, 40])].forEach((probability, i) => {
      if (i === 1) expect(probability).toBeGreaterThan(0.9);
      else expect(probability).toBeCloseTo(0, 6);
    });
  });
});
