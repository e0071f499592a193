import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import { bordersOf } from './borders.js';
import { contrasts, daysToMultiply } from './contrast.js';
import { zoneMeansMm } from './zone-means.js';

const { roots } = buildHead();
const lengths = (byZone: Partial<Record<Zone, number>>, otherMm = 50) =>
  Float32Array.from(roots.zone, (zone) => byZone[ZONES[zone]!] ?? otherMm);

describe('bordersOf', () => {
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
      expect.objectContaining({ field: 'lengthsMm' }),
    );
  });
});

describe('zoneMeansMm', () => {
  it('weighs by scalp area', () => {
    const two = { count: 2, areaMm2: [30, 10], zone: Uint8Array.of(0, 0) };
    expect(zoneMeansMm(two, [10, 50])).toMatchObject({ fringe: 20, nape: null });
  });
});

describe('daysToMultiply', () => {
  it('refuses hair that does not grow', () => {
    expect(() => daysToMultiply(6, 0)).toThrow(expect.objectContaining({ field: 'ratePerDayMm' }));
  });
});
