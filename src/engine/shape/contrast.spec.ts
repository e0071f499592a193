import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import { bordersOf } from './borders.js';
import { contrasts, daysToMultiply } from './contrast.js';
import { zoneMeansMm } from './zone-means.js';

// Two rows lie within 9 mm of a border at 4,000 roots, one at half as many.
const { roots } = buildHead({ rootCount: 2000 });
const lengths = (byZone: Partial<Record<Zone, number>>, otherMm = 50) =>
  Float32Array.from(roots.zone, (zone) => byZone[ZONES[zone]!] ?? otherMm);

describe('bordersOf a head', () => {
  it('finds the zones that touch and no others', () => {
    const pairs = bordersOf(roots).map(({ zones }) => zones.join(' '));
    expect(pairs).toEqual(expect.arrayContaining(['fringe top', 'top crown', 'crown back', 'back nape']));
    expect(pairs).not.toContain('left-side right-side');
    expect(pairs).not.toContain('fringe nape');
  });

  it('is the same on both sides of the head', () => {
    const size = (a: Zone, b: Zone) =>
      bordersOf(roots)
        .find(({ zones }) => zones[0] === a && zones[1] === b)
        ?.roots.map((of) => of.length);
    expect(size('left-side', 'back')).toEqual(size('right-side', 'back'));
  });
});

describe('contrasts', () => {
  const between = (lengthsMm: Float32Array, a: Zone, b: Zone) =>
    contrasts(roots, lengthsMm).find(({ longer, shorter }) => longer === a && shorter === b);

  it('gives difference and ratio, the longer zone first', () => {
    const found = between(lengths({ nape: 6, back: 30 }), 'back', 'nape');
    expect(found?.differenceMm).toBeCloseTo(24, 5);
    expect(found?.ratio).toBeCloseTo(5, 5);
    expect(found?.atBorderMm).toBeCloseTo(24, 5);
  });

  it('has no ratio to shaved skin', () => {
    expect(between(lengths({ nape: 0, back: 30 }), 'back', 'nape')?.ratio).toBeNull();
  });

  it('loses contrast as both grow: the difference stays, the ratio falls', () => {
    const later = between(lengths({ nape: 21, back: 45 }), 'back', 'nape');
    expect(later?.differenceMm).toBeCloseTo(24, 5);
    expect(later?.ratio).toBeCloseTo(45 / 21, 5);
  });

  it('refuses a length that is none', () => {
    const bad = lengths({});
    bad[3] = Number.NaN;
    expect(() => contrasts(roots, bad)).toThrow(expect.objectContaining({ field: 'lengthsMm[3]' }));
    expect(() => contrasts(roots, new Float32Array(2))).toThrow(
      expect.objectContaining({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'lengthsMm',
        message: `lengthsMm must hold ${roots.count} lengths, one per root.`,
      }),
    );
  });

  /** Fringe and top, two roots each: the first of each 5 mm apart, the second 100 mm away. */
  const four = {
    count: 4,
    position: [0, 0, 0, 0, 100, 0, 0, -5, 0, 0, -100, 0],
    areaMm2: [1, 3, 1, 1],
    zone: Uint8Array.of(0, 0, 1, 1),
  };

  it('compares whole zones by area, and apart from it the roots at the border', () => {
    // Fringe (10 + 3 · 50) / 4 = 40, top (20 + 30) / 2 = 25; at the border 10 against 20.
    expect(contrasts(four, [10, 50, 20, 30])).toEqual([
      { longer: 'fringe', shorter: 'top', differenceMm: 15, ratio: 1.6, atBorderMm: -10 },
    ]);
    // Fringe 20, top (60 + 40) / 2 = 50; at the border 60 - 20.
    expect(contrasts(four, [20, 20, 60, 40])).toEqual([
      { longer: 'top', shorter: 'fringe', differenceMm: 30, ratio: 2.5, atBorderMm: 40 },
    ]);
  });

  it('names zones of equal length in the order of the card', () => {
    expect(contrasts(four, [30, 30, 40, 20])).toEqual([
      { longer: 'fringe', shorter: 'top', differenceMm: 0, ratio: 1, atBorderMm: -10 },
    ]);
  });
});

describe('zoneMeansMm', () => {
  it('weighs by scalp area', () => {
    const two = { count: 2, areaMm2: [30, 10], zone: Uint8Array.of(0, 0) };
    expect(zoneMeansMm(two, [10, 50])).toMatchObject({ fringe: 20, nape: null });
  });
});

describe('daysToMultiply', () => {
  it('is what is to be added over the rate: 6 mm thrice as long at 0.5 mm/day is 12 / 0.5', () => {
    expect(daysToMultiply(6, 0.5, 3)).toBe(24);
    expect(daysToMultiply(6, 0.5, 1)).toBe(0);
  });

  it('refuses a length and a multiple that are none', () => {
    expect(() => daysToMultiply(-1, 0.5)).toThrow(expect.objectContaining({ field: 'lengthMm' }));
    expect(() => daysToMultiply(6, 0.5, 0.9)).toThrow(expect.objectContaining({ field: 'times' }));
  });

  it('refuses hair that does not grow', () => {
    expect(() => daysToMultiply(6, 0)).toThrow(expect.objectContaining({ field: 'ratePerDayMm' }));
  });
});
