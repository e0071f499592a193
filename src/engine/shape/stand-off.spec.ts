import { describe, expect, it } from '@jest/globals';
import { standOffAngle, standOffOffset, standOffReach, standOffRise } from './stand-off.js';

describe('stand-off of short hair', () => {
  it('stands steep when short and lies down when long (design figures, uncalibrated)', () => {
    expect(standOffAngle(0)).toBe(65);
    expect(standOffAngle(25)).toBe(40);
    expect(standOffAngle(500)).toBeCloseTo(15, 0);
  });

  it('leaves the scalp at the root and grows along the strand', () => {
    expect(standOffOffset(0, 40)).toBe(0);
    expect(standOffOffset(40, 40)).toBeGreaterThan(standOffOffset(20, 40));
  });

  it('never lifts a strand farther than it is long', () => {
    for (let lengthMm = 0; lengthMm <= 300; lengthMm += 1) {
      expect(standOffOffset(lengthMm, lengthMm)).toBeLessThanOrEqual(lengthMm);
    }
  });

  it('gives the same figure in its tabled form', () => {
    expect(standOffReach(30) * (standOffRise(6, 6)[4] ?? 0)).toBeCloseTo(standOffOffset(24, 30), 12);
  });

  it('refuses what is no length', () => {
    expect(() => standOffAngle(Number.NaN)).toThrow(expect.objectContaining({ code: 'ENGINE.NOT_A_NUMBER' }));
    expect(() => standOffOffset(-1, 10)).toThrow(expect.objectContaining({ field: 'alongMm' }));
  });
});
