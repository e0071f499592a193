import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';

import { ZONES } from '../zones.js';
import {
  type GrowthPrior,
  type GrowthProfile,
  growthPrior,
  initialProfile,
  type LengthObservation,
  observeGrowth,
  observeVisit,
  zoneRate,
} from './index.js';

const fresh = initialProfile(growthPrior());

const nape = (changes: Partial<LengthObservation> = {}): LengthObservation => ({
  zone: 'nape',
  leftMm: 10,
  leftSdMm: 1,
  days: 35,
  measuredMm: 10 + 0.35 * 35,
  measuredSdMm: 5,
  on: '2026-03-02',
  ...changes,
});

/** One zone observed through `days` = 1 from 0 mm: the textbook's normal mean with known variance. */
function textbook(mean: number, sd: number, sigma: number, values: readonly number[]) {
  const prior: GrowthPrior = {
    meanMmPerDay: mean,
    personSdMmPerDay: sd,
    zoneSdMmPerDay: 0,
    source: 'textbook example',
  };
  const profile = values.reduce<GrowthProfile>((before, measuredMm) => {
    const step = observeGrowth(
      before,
      nape({ leftMm: 0, leftSdMm: 0, days: 1, measuredMm, measuredSdMm: sigma }),
    );
    expect(step.verdict).toBe('used');
    return step.profile;
  }, initialProfile(prior));
  return zoneRate(profile, 'nape');
}

describe('observeGrowth against worked examples', () => {
  it('gives mean 69.72, sd 2.4 for prior N(69, 3²), sigma 4, x = 71', () => {
    const rate = textbook(69, 3, 4, [71]);
    expect(rate.meanMmPerDay.toFixed(2)).toBe('69.72');
    expect(rate.sdMmPerDay.toFixed(1)).toBe('2.4');
  });

  // Hoff 2009, A First Course in Bayesian Statistical Methods, ch. 5: wing lengths of midges, prior 1.9 and 0.95,
  // sampling variance 0.017 (from memory).
  it("gives 1.805 and variance 0.002 for Hoff's midges", () => {
    const wings = [1.64, 1.7, 1.72, 1.74, 1.82, 1.82, 1.82, 1.9, 2.08];
    const rate = textbook(1.9, 0.95, Math.sqrt(0.017), wings);
    expect(rate.meanMmPerDay.toFixed(3)).toBe('1.805');
    expect((rate.sdMmPerDay ** 2).toFixed(3)).toBe('0.002');
  });
});

describe('observeGrowth', () => {
  it('moves the measured zone most, the others through the person, and narrows both', () => {
    const { profile, verdict } = observeGrowth(fresh, nape({ measuredMm: 10 + 0.45 * 35, measuredSdMm: 1 }));
    expect(verdict).toBe('used');
    const here = zoneRate(profile, 'nape');
    const there = zoneRate(profile, 'top');
    expect(here.meanMmPerDay).toBeGreaterThan(there.meanMmPerDay);
    expect(there.meanMmPerDay).toBeGreaterThan(0.35);
    expect(here.sdMmPerDay).toBeLessThan(there.sdMmPerDay);
    expect(there.sdMmPerDay).toBeLessThan(zoneRate(fresh, 'top').sdMmPerDay);
    expect(profile.measurements.nape).toBe(1);
    expect(JSON.parse(JSON.stringify(profile))).toEqual(profile);
  });

  it('doubts what is far off, counts it in part and says how much', () => {
    const { profile, verdict, note } = observeGrowth(fresh, nape({ measuredMm: 42 }));
    expect(verdict).toBe('doubted');
    expect(note).toMatch(/^42 mm at the nape is far from the 22 mm expected: counted at \d+ %\.$/);
    const full = 0.35 + (20 * 35 * zoneRate(fresh, 'nape').sdMmPerDay ** 2) / (35 ** 2 * 0.066 ** 2 + 26);
    expect(zoneRate(profile, 'nape').meanMmPerDay).toBeGreaterThan(0.35);
    expect(zoneRate(profile, 'nape').meanMmPerDay).toBeLessThan(full);
  });

  it('sets aside a blunder and leaves the profile as it was', () => {
    const { profile, verdict, note } = observeGrowth(fresh, nape({ measuredMm: 70 }));
    expect(verdict).toBe('set-aside');
    expect(note).toContain('please measure again');
    expect(profile).toBe(fresh);
  });

  it('takes hair shorter than it was left for an unrecorded cut or a slip', () => {
    const { profile, verdict, note } = observeGrowth(fresh, nape({ leftMm: 40, measuredMm: 25 }));
    expect(verdict).toBe('set-aside');
    expect(note).toContain('15 mm shorter than it was left: a cut that was not recorded');
    expect(profile).toBe(fresh);
  });

  it('forgets slowly: a year later a fifth of the lost uncertainty is back, never more than the prior', () => {
    const known = observeGrowth(fresh, nape({ measuredSdMm: 0.1, leftSdMm: 0, measuredMm: 24 })).profile;
    const aged = observeGrowth(known, nape({ measuredSdMm: 200, on: '2027-03-02', measuredMm: 24 })).profile;
    const muchLater = observeGrowth(
      known,
      nape({ measuredSdMm: 200, on: '2126-03-02', measuredMm: 24 }),
    ).profile;
    const variance = (profile: GrowthProfile) => zoneRate(profile, 'nape').sdMmPerDay ** 2;
    const returned = (variance(aged) - variance(known)) / (variance(fresh) - variance(known));
    expect(returned).toBeGreaterThan(0.18);
    expect(returned).toBeLessThan(0.25);
    expect(variance(muchLater)).toBeLessThanOrEqual(variance(fresh));
  });

  it.each([
    ['days', { days: 0 }],
    ['measuredMm', { measuredMm: Number.NaN }],
    ['measuredMm', { measuredMm: -1 }],
    ['leftMm', { leftMm: 2001 }],
    ['on', { on: '2026-02-30' }],
    ['zone', { zone: 'beard' as 'nape' }],
  ])('names %s when it cannot be used', (field, changes) => {
    expect(() => observeGrowth(fresh, nape(changes))).toThrow(expect.objectContaining({ field }));
  });
});

describe('any run of measurements', () => {
  const anyObservation = fc.record({
    zone: fc.constantFrom(...ZONES),
    leftMm: fc.integer({ min: 0, max: 400 }),
    leftSdMm: fc.constantFrom(0, 1, 5),
    days: fc.integer({ min: 1, max: 400 }),
    grownMm: fc.integer({ min: -60, max: 200 }),
    measuredSdMm: fc.constantFrom(0, 1, 5),
    on: fc.constantFrom('2024-05-01', '2025-01-31', '2026-12-31'),
  });

  it('leaves a symmetric covariance, no rate vaguer than the prior, nothing that is not a number', () => {
    fc.assert(
      fc.property(fc.array(anyObservation, { maxLength: 25 }), (run) => {
        const { mean, covariance } = run.reduce<GrowthProfile>(
          (before, { grownMm, ...rest }) =>
            observeGrowth(before, { ...rest, measuredMm: Math.max(0, rest.leftMm + grownMm) }).profile,
          fresh,
        );
        for (const value of [...mean, ...covariance.flat()]) expect(Number.isFinite(value)).toBe(true);
        covariance.forEach((row, i) => {
          expect(row[i]).toBeGreaterThanOrEqual(-1e-15);
          expect(row[i]).toBeLessThanOrEqual((fresh.covariance[i]?.[i] ?? 0) + 1e-15);
          row.forEach((value, j) => {
            expect(Math.abs(value - (covariance[j]?.[i] ?? 0))).toBeLessThan(1e-15);
          });
        });
      }),
      { numRuns: 100, seed: 7 },
    );
  });
});

describe('observeVisit', () => {
  const visit = (shortBy: number) =>
    (['fringe', 'top', 'crown', 'nape'] as const).map((zone) => nape({ zone, measuredMm: 22 - shortBy }));

  it('gives the same profile whatever the order of the zones', () => {
    const forwards = observeVisit(fresh, visit(2)).profile;
    const backwards = observeVisit(fresh, visit(2).reverse()).profile;
    for (const [i, value] of forwards.mean.entries()) expect(backwards.mean[i]).toBeCloseTo(value, 12);
  });

  it('sees in all zones together a trim that no single zone betrays', () => {
    expect(observeGrowth(fresh, nape({ measuredMm: 11 })).verdict).toBe('used');
    const { profile, unrecordedCut, zones } = observeVisit(fresh, visit(11));
    expect(unrecordedCut).toBe(true);
    expect(profile).toBe(fresh);
    expect(zones.map(({ verdict }) => verdict)).toEqual(Array(4).fill('set-aside'));
    expect(observeVisit(fresh, visit(3)).unrecordedCut).toBe(false);
  });
});
