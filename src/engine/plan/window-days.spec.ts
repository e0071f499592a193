import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';

import { normalQuantile } from '../stats/index.js';
import { ShapeSurvival } from './survival.js';
import { failureDays } from './window-days.js';
import { HEAD_NUMBERS, MARGIN_NUMBERS } from './window-row.js';

/** c, z1, o1, a1, b1, z2, o2, a2, b2, noise: see Margin. */
type Numbers = readonly number[];

/** Counts how often it is asked, which is what a window costs. */
class CountedSurvival extends ShapeSurvival {
  asked = 0;

  override failed(days: number): number {
    this.asked += 1;
    return super.failed(days);
  }
}

/** Every zone grows 0.35 ± 0.03 mm a day; lengths left are right to 2 mm. */
function shapeOf(limits: readonly Numbers[], restSd = 0.03, sharedSd = 0): CountedSurvival {
  const row = new Float64Array(HEAD_NUMBERS + MARGIN_NUMBERS * limits.length);
  row.fill(0.35, 0, 7).fill(sharedSd, 7, 14).fill(restSd, 14, 21).fill(2, 21, 28);
  limits.forEach((limit, k) => {
    row.set(limit, HEAD_NUMBERS + MARGIN_NUMBERS * k);
  });
  const shape = new CountedSurvival();
  shape.load(row, 0, row.length);
  return shape;
}
const grown = (mm: number, zone = 6): Numbers => [mm, zone, 0, 1, 0, -1, 0, 0, 0, 0];
const longer = (mm: number): Numbers => [mm, 6, 0, 1, 1, -1, 0, 0, 0, 0];
const Z = normalQuantile(0.9);

function expectDays(found: readonly number[], expected: readonly number[], toleranceDays = 0.02): void {
  found.forEach((day, i) => {
    expect(Math.abs(day - (expected[i] as number))).toBeLessThan(toleranceDays);
  });
}

describe('failureDays', () => {
  // c - 0.35 t = ± z × 0.03 t.
  it.each([0.02, 1, 12, 60, 200])('are those of the normal distribution for a limit of %d mm', (mm) => {
    expectDays(failureDays(shapeOf([grown(mm)])), [
      mm / (0.35 + Z * 0.03),
      mm / 0.35,
      mm / (0.35 - Z * 0.03),
    ]);
  });

  // c - 0.35 t = z √((0.03 t)² + 4): a quadratic equation, whose negative roots are days before the cut.
  it.each([20, 3, 1, 0, -1, -2.5, -3])('are 0 for what had failed at the cut, with %d mm to go', (mm) => {
    const day = (z: number) => {
      if (mm <= 2 * z) return 0;
      const [a, b, c] = [0.35 ** 2 - (z * 0.03) ** 2, -0.7 * mm, mm * mm - 4 * z * z];
      const root = Math.sqrt(Math.max(0, b * b - 4 * a * c));
      return Math.max(0, z > 0 ? (-b - root) / (2 * a) : (-b + root) / (2 * a));
    };
    expectDays(failureDays(shapeOf([longer(mm)])), [day(Z), day(0), day(-Z)], 0.12);
  });

  it('are 0 exactly, not nearly, where all has failed at the cut', () => {
    expect(failureDays(shapeOf([longer(-3)]))).toEqual([0, 0, 0]);
    expect(failureDays(shapeOf([grown(0)]))).toEqual([0, 0, 0]);
    expect(failureDays(shapeOf([grown(-5)]))).toEqual([0, 0, 0]);
  });

  it('stop after two years', () => {
    expect(failureDays(shapeOf([grown(400)]))).toEqual([730, 730, 730]);
    // 255 / (0.35 + 0.0384) = 656 days, 255 / 0.35 = 728.6, 255 / (0.35 - 0.0384) = 818.
    const [earliest, due, latest] = failureDays(shapeOf([grown(255)]));
    expect(earliest).toBeCloseTo(255 / (0.35 + Z * 0.03), 1);
    expect(due).toBeCloseTo(255 / 0.35, 1);
    expect(latest).toBe(730);
    expect(failureDays(shapeOf([grown(260)])).map(Math.round)).toEqual([669, 730, 730]);
    // Two zones that grow alike drift apart by chance only: 10 mm are 1.2816 × 0.03 × √2 × t after 184 days, and at
    // no time likelier passed than not.
    const drift: Numbers = [10, 6, 0, 1, 0, 5, 0, -1, 0, 0];
    const [chance, never, neither] = failureDays(shapeOf([drift]));
    expect(chance).toBeCloseTo(10 / (Z * 0.03 * Math.SQRT2), 1);
    expect([never, neither]).toEqual([730, 730]);
  });

  it('are the days on which so much has failed, for any shape that is safe at the cut', () => {
    const limit = fc.oneof(
      fc
        .tuple(fc.double({ min: 4, max: 80, noNaN: true }), fc.integer({ min: 0, max: 6 }))
        .map(([mm, zone]) => grown(mm, zone)),
      fc.double({ min: 8, max: 40, noNaN: true }).map(longer),
      fc.double({ min: 10, max: 30, noNaN: true }).map((mm): Numbers => [mm, 6, 0, 2, 2, 5, 0, -1, -1, 1]),
    );
    fc.assert(
      fc.property(fc.array(limit, { minLength: 1, maxLength: 5 }), (limits) => {
        const shape = shapeOf(limits, 0.03, 0.05);
        failureDays(shape).forEach((day, i) => {
          const probability = [0.1, 0.5, 0.9][i] as number;
          if (day < 730) expect(shape.failed(day + 0.03)).toBeGreaterThan(probability - 1e-9);
          if (day > 0) expect(shape.failed(Math.max(0, day - 0.03))).toBeLessThan(probability + 1e-9);
        });
      }),
      { numRuns: 60, seed: 7 },
    );
  });

  // Halving two years down to a hundredth of a day takes 17 steps for each of the three; a book of clients needs better.
  it('are found in few steps', () => {
    const asked = (limits: readonly Numbers[], sharedSd = 0) => {
      const shape = shapeOf(limits, 0.03, sharedSd);
      failureDays(shape);
      return shape.asked;
    };
    // One limit is the straight line that the steps take it for: two looks to begin with, and some two for each day.
    expect(asked([grown(12)])).toBeLessThanOrEqual(8);
    expect(asked([grown(12), grown(13, 5), longer(9)], 0.05)).toBeLessThanOrEqual(11);
    // Two looks show what never ends; what has ended at the cut is halved down to once, 17 times.
    expect(asked([grown(400)])).toBeLessThanOrEqual(3);
    expect(asked([grown(-5)])).toBeLessThanOrEqual(2 + 18);
  });
});
