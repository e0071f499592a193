import { describe, expect, it } from '@jest/globals';

import { normalCdf, normalDensity } from '../stats/index.js';
import { firstToFail } from './first-to-fail.js';
import { ShapeSurvival } from './survival.js';
import { HEAD_NUMBERS, MARGIN_NUMBERS } from './window-row.js';

/** Limits that lie `mm` ± `sd` of growth away, each on a zone of its own that grows 0.4 mm a day for certain. */
function shapeOf(...limits: readonly (readonly [mm: number, sd: number])[]): ShapeSurvival {
  const row = new Float64Array(HEAD_NUMBERS + MARGIN_NUMBERS * limits.length);
  row.fill(0.4, 0, 7);
  limits.forEach(([mm, sd], zone) => {
    row.set([mm, zone, 0, 1, 0, -1, 0, 0, 0, sd], HEAD_NUMBERS + MARGIN_NUMBERS * zone);
  });
  const shape = new ShapeSurvival();
  shape.load(row, 0, row.length);
  return shape;
}

describe('firstToFail', () => {
  // The lesser of two normal variables: the first is it with probability Φ((m2 - m1) / √(s1² + s2²)), and with several
  // the integral of its density times the chance that each other one is greater.
  it.each([
    [
      [12, 1],
      [14, 2],
    ],
    [
      [15, 4],
      [14, 1],
    ],
    [
      [12, 2],
      [12, 2],
    ],
  ] as const)('gives %j against %j the chance that the one is the lesser', (a, b) => {
    const [first = 0, second = 0] = firstToFail(shapeOf(a, b), 2, 80);
    const expected = normalCdf((b[0] - a[0]) / Math.hypot(a[1], b[1]));
    expect(Math.abs(first - expected)).toBeLessThan(0.003);
    expect(first + second).toBeCloseTo(1, 12);
  });

  it('goes by the days up to the last one asked for', () => {
    // Up to day 30, 12 mm: of the two the first is passed first there with the integral over x < 12.
    const [a, b] = [
      [12, 1],
      [12.5, 2],
    ] as const;
    const chance = (own: readonly [number, number], other: readonly [number, number]) => {
      let sum = 0;
      for (let x = -2; x < 12; x += 0.001) {
        sum += (0.001 * normalDensity((x - own[0]) / own[1]) * normalCdf((other[0] - x) / other[1])) / own[1];
      }
      return sum;
    };
    const [first = 0] = firstToFail(shapeOf(a, b), 2, 30);
    expect(Math.abs(first - chance(a, b) / (chance(a, b) + chance(b, a)))).toBeLessThan(0.003);
  });

  it('counts what has failed on the first day for the limit most likely to have', () => {
    // The second has gone with probability Φ(1 / 2) = 0.69 on the day of the cut, and then goes on going: all but surely
    // long before the first, which needs 30 days.
    const [first = 0, second = 0] = firstToFail(shapeOf([12, 1], [-1, 2]), 2, 60);
    expect(first).toBeLessThan(0.001);
    expect(second).toBeGreaterThan(0.999);
    // Both can have gone at once, the second likelier: 0.69 and more against less than 0.31 (1 - 0.69).
    const [rare = 0, likely = 0] = firstToFail(shapeOf([1, 2], [-1, 2]), 2, 60);
    expect(likely).toBeGreaterThan(normalCdf(0.5));
    expect(rare + likely).toBeCloseTo(1, 12);
  });

  it('names the likeliest where none is ever passed', () => {
    expect(firstToFail(shapeOf([500, 1], [400, 1], [450, 1]), 3, 60)).toEqual([0, 1, 0]);
    expect(firstToFail(shapeOf([500, 1]), 1, 60)).toEqual([1]);
  });

  it('gives a limit that another one covers no chance', () => {
    // The same zone without doubt: 13 mm can only be passed after 12.
    const row = new Float64Array(HEAD_NUMBERS + 2 * MARGIN_NUMBERS);
    row.fill(0.4, 0, 7).fill(0.05, 14, 21);
    row.set([12, 0, 0, 1, 0, -1, 0, 0, 0, 0], HEAD_NUMBERS);
    row.set([13, 0, 0, 1, 0, -1, 0, 0, 0, 0], HEAD_NUMBERS + MARGIN_NUMBERS);
    const shape = new ShapeSurvival();
    shape.load(row, 0, row.length);
    expect(firstToFail(shape, 2, 80)).toEqual([1, 0]);
  });
});
