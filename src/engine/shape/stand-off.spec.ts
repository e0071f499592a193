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

  it('is 25 sin(alpha) (1 - e^(-t/25)) e^(-L/120) (design)', () => {
    // At 25 of 25 mm: 25 · sin 40° · (1 - 1/e) · e^(-25/120).
    expect(standOffOffset(25, 25)).toBeCloseTo(25 * 0.642788 * 0.632121 * 0.811936, 4);
    // At 120 mm alpha is 15° + 50° / (1 + 4.8²) = 17.08°, and the reach 25 · 0.29370 / e.
    expect(standOffReach(120)).toBeCloseTo(25 * 0.2937 * 0.367879, 3);
  });

  it('gives the same figure in its tabled form', () => {
    expect(standOffReach(30) * (standOffRise(6, 6)[4] ?? 0)).toBeCloseTo(standOffOffset(24, 30), 12);
  });

  it('refuses what is no length', () => {
    expect(() => standOffAngle(Number.NaN)).toThrow(
      expect.objectContaining({ code: 'ENGINE.NOT_A_NUMBER', field: 'lengthMm' }),
    );
    expect(() => standOffOffset(-1, 10)).toThrow(expect.objectContaining({ field: 'alongMm' }));
  });
});
