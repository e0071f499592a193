import { describe, expect, it } from '@jest/globals';
import { HAIRLINE, meanHairlineZ } from './anatomy.js';

describe('hairline of the mean head', () => {
  // The design's list: height by degrees from the front.
  it.each([
    [0, 50],
    [20, 52],
    [38, 50],
    [50, 28],
    [60, 5],
    [68, -20],
    [76, -38],
    [84, -38],
    [86, -12],
    [100, -12],
    [108, -35],
    [118, -62],
    [135, -85],
    [155, -97],
    [180, -100],
  ])('at %d degrees lies at %d, on either side and after whole turns', (az, z) => {
    for (const same of [az, -az, az + 360, az - 360, 360 - az, 720 - az]) {
      expect(meanHairlineZ(same)).toBeCloseTo(z, 9);
    }
    expect(HAIRLINE).toContainEqual([az, z]);
  });

  it('runs straight between its points', () => {
    // 50 + 2 * 5 / 20; 28 - 23 * 2.5 / 10; -38 + 26 * 0.5 / 2; -97 - 3 * 20 / 25
    expect(meanHairlineZ(5)).toBeCloseTo(50.5, 12);
    expect(meanHairlineZ(-52.5)).toBeCloseTo(22.25, 12);
    expect(meanHairlineZ(84.5)).toBeCloseTo(-31.5, 12);
    expect(meanHairlineZ(175)).toBeCloseTo(-99.4, 12);
    // 190 degrees round is 170 the other way: -97 - 3 * 15 / 25
    expect(meanHairlineZ(190)).toBeCloseTo(-98.8, 12);
    expect(meanHairlineZ(-190)).toBeCloseTo(-98.8, 12);
    expect(meanHairlineZ(355)).toBeCloseTo(50.5, 12);
  });

  it('answers a direction that is no number with no number', () => {
    expect(meanHairlineZ(Number.NaN)).toBeNaN();
  });
});
