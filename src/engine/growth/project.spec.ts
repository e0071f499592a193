import { describe, expect, it } from '@jest/globals';

import {
  describeProfile,
  growthPrior,
  initialProfile,
  observeGrowth,
  projectLength,
  rootBand,
} from './index.js';

const fresh = initialProfile(growthPrior());

describe('projectLength', () => {
  // Arithmetic of the trade figure: six weeks at 0.35 mm a day.
  it('adds 14.7 mm in six weeks', () => {
    const { meanMm } = projectLength(fresh, { zone: 'back', leftMm: 60, leftSdMm: 0, days: 42 });
    expect(meanMm - 60).toBeCloseTo(14.7, 10);
  });

  it('spreads with the rate, the cut and the hand, and draws 90 % bounds', () => {
    const input = { zone: 'back', leftMm: 60, leftSdMm: 3, days: 42 } as const;
    const { sdMm, lowMm, highMm, meanMm } = projectLength(fresh, input);
    expect(sdMm).toBeCloseTo(Math.sqrt(42 ** 2 * (0.06 ** 2 + 0.028 ** 2) + 9), 10);
    // 1.645: 95 % point of the normal distribution, any table.
    expect((highMm - meanMm) / sdMm).toBeCloseTo(1.645, 3);
    expect((meanMm - lowMm) / sdMm).toBeCloseTo(1.645, 3);
    expect(projectLength(fresh, { ...input, measuredSdMm: 4 }).sdMm).toBeCloseTo(Math.hypot(sdMm, 4), 10);
  });

  it('stops at the terminal length, but never shortens what is there', () => {
    const input = { zone: 'top', leftMm: 370, leftSdMm: 0, days: 365, terminalMm: 380 } as const;
    expect(projectLength(fresh, input)).toMatchObject({ meanMm: 380, lowMm: 380, highMm: 380 });
    expect(projectLength(fresh, { ...input, terminalMm: 300 }).meanMm).toBe(370);
  });

  it.each([
    ['leftMm', { leftMm: -1 }],
    ['days', { days: Number.NaN }],
    ['leftSdMm', { leftSdMm: 201 }],
  ])('names %s when it is impossible', (field, change) => {
    const input = { zone: 'top', leftMm: 10, leftSdMm: 0, days: 1, ...change } as const;
    expect(() => projectLength(fresh, input)).toThrow(expect.objectContaining({ field }));
  });
});

describe('rootBand', () => {
  // Six weeks at 0.35 mm a day again.
  it('is the growth since the colour, none before it', () => {
    const band = rootBand(fresh, { colouredOn: '2026-03-02', on: '2026-04-13' });
    expect(band.days).toBe(42);
    expect(band.meanMm).toBeCloseTo(14.7, 10);
    expect(band.lowMm).toBeLessThan(14.7);
    expect(rootBand(fresh, { colouredOn: '2026-03-02', on: '2026-03-01' })).toMatchObject({
      days: 0,
      meanMm: 0,
    });
  });
});

describe('growthPrior', () => {
  // Loussouarn et al. 2005, Int J Dermatol 44(S1):6-9: 280±50, 367±56, 411±53 micrometres a day.
  it.each([
    ['african', 0.28, 0.05],
    ['european', 0.367, 0.056],
    ['asian', 0.411, 0.053],
  ] as const)('takes the published figures where a client states %s ancestry', (ancestry, mean, sd) => {
    expect(growthPrior({ ancestry })).toMatchObject({ meanMmPerDay: mean, personSdMmPerDay: sd });
    expect(growthPrior({ ancestry }).source).toContain('Loussouarn');
  });

  // Myers, Hamilton 1951, Ann NY Acad Sci 53:562.
  it('takes the mean of the stated age, and says when it cannot combine two statements', () => {
    expect(growthPrior({ age: 'before-puberty' }).meanMmPerDay).toBe(0.41);
    expect(growthPrior({ age: 'young-adult', ancestry: 'asian' })).toMatchObject({ meanMmPerDay: 0.411 });
    expect(growthPrior({ age: 'young-adult', ancestry: 'asian' }).source).toContain('age is not used');
  });
});

describe('describeProfile', () => {
  it('says that nothing was measured and that nobody has published a rate for the nape', () => {
    expect(describeProfile(fresh, 'nape')).toBe(
      'not measured yet: 0.35 mm a day assumed at the nape; most people 0.27-0.43 (no published figure for the nape)',
    );
    expect(describeProfile(fresh, 'left-side')).toBe(
      'not measured yet: 0.35 mm a day assumed at the left side; most people 0.27-0.43',
    );
  });

  it('counts the measurements behind a figure, and those of other zones', () => {
    const profile = [1, 2, 3, 4, 5].reduce(
      (before, month) =>
        observeGrowth(before, {
          zone: 'nape',
          leftMm: 10,
          leftSdMm: 0,
          days: 30,
          measuredMm: 10 + 30 * 0.42,
          measuredSdMm: 1,
          on: `2026-0${month}-20`,
        }).profile,
      fresh,
    );
    expect(describeProfile(profile, 'nape')).toMatch(
      /^yours: 0\.4[12] mm a day at the nape, from 5 measurements; most people 0\.27-0\.43/,
    );
    expect(describeProfile(profile, 'top')).toMatch(
      /^yours: 0\.\d\d mm a day at the top, not measured there, judged by 5 measurements of other zones; most people/,
    );
  });
});
