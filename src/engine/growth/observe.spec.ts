import { describe, expect, it } from '@jest/globals';

import { growthPrior, initialProfile, observeGrowth, zoneRate } from './index.js';

describe('observeGrowth', () => {
  it('moves the measured zone most, the others through the person, and narrows both', () => {
    const before = initialProfile(growthPrior());
    const { profile, verdict } = observeGrowth(before, {
      zone: 'nape',
      leftMm: 10,
      leftSdMm: 0,
      days: 35,
      measuredMm: 10 + 0.45 * 35,
      measuredSdMm: 1,
      on: '2026-03-02',
    });
    expect(verdict).toBe('used');
    const nape = zoneRate(profile, 'nape');
    const top = zoneRate(profile, 'top');
    expect(nape.meanMmPerDay).toBeGreaterThan(top.meanMmPerDay);
    expect(top.meanMmPerDay).toBeGreaterThan(0.35);
    expect(nape.sdMmPerDay).toBeLessThan(top.sdMmPerDay);
    expect(top.sdMmPerDay).toBeLessThan(zoneRate(before, 'top').sdMmPerDay);
    expect(profile.measurements.nape).toBe(1);
    expect(JSON.parse(JSON.stringify(profile))).toEqual(profile);
  });

  it('names the field it cannot use', () => {
    const observation = {
      zone: 'nape',
      leftMm: 10,
      leftSdMm: 0,
      days: 0,
      measuredMm: 20,
      measuredSdMm: 1,
    } as const;
    expect(() => observeGrowth(initialProfile(growthPrior()), { ...observation, on: '2026-03-02' })).toThrow(
      expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field: 'days' }),
    );
    expect(() =>
      observeGrowth(initialProfile(growthPrior()), { ...observation, days: 35, on: '2026-02-30' }),
    ).toThrow(expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field: 'on' }));
  });
});
