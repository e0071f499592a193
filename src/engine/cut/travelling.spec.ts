import { describe, expect, it } from '@jest/globals';
import { overDirectedMm } from './travelling.js';

describe('over-direction', () => {
  it.each([
    [1, 18, 100],
    [2, 10, 60],
    [1, 25, 40],
  ])(
    '%d sections back, depth %d, guide %d: as pulling section after section to the one before',
    (k, w, guide) => {
      // Independent: the chord from each root to the end of the hair k sections back, held square to a ball of 86.
      const R = 86;
      const lengths: number[] = Array.from({ length: k }, () => guide);
      for (let i = k; i < 7 * k; i++) {
        const L = lengths[i - k]!;
        const angle = (k * w) / R;
        lengths.push(Math.sqrt(R * R + (R + L) ** 2 - 2 * R * (R + L) * Math.cos(angle)));
      }
      const s = w * (lengths.length - k);
      const ours = overDirectedMm(guide, (k * w * s) / (2 * R), R);
      const gain = lengths[lengths.length - 1]! - guide;
      // The design's w^2 (R + L) / (2 R L) a section is the first term; 10 % covers the next ones at these depths.
      expect(Math.abs(ours - guide - gain)).toBeLessThan(0.1 * gain);
      const first = (k * w * w * (R + guide)) / (2 * R * guide);
      expect(Math.abs(overDirectedMm(guide, (k * w * w) / (2 * R), R) - guide - first)).toBeLessThan(
        0.1 * first,
      );
    },
  );

  it('leaves a guide of 0 finite and never shortens', () => {
    expect(overDirectedMm(0, 0, 86)).toBe(0);
    expect(overDirectedMm(0, 3, 86)).toBeGreaterThan(0);
    expect(overDirectedMm(0, 3, 86)).toBeLessThan(100);
    expect(overDirectedMm(80, 1e-9, 86)).toBeGreaterThanOrEqual(80);
  });
});
