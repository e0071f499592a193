import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { kaplanMeier, stepAt, type TimeCount } from './kaplan-meier.js';
import { logRank } from './log-rank.js';

const cases = (ended: readonly number[], open: readonly number[] = []): TimeCount[] => [
  ...ended.map((days) => ({ days, ended: 1, open: 0 })),
  ...open.map((days) => ({ days, ended: 0, open: 1 })),
];

/** Weeks to relapse under 6-MP and placebo: Freireich et al. 1963, Blood 21:699-716. */
const TREATED = cases([6, 6, 6, 7, 10, 13, 16, 22, 23], [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]);
const PLACEBO = cases([1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]);

/** Weeks to relapse with and without maintained chemotherapy: Miller 1997, Survival Analysis, table 1.1. */
const MAINTAINED = cases([9, 13, 18, 23, 31, 34, 48], [13, 28, 45, 161]);
const NOT_MAINTAINED = cases([5, 5, 8, 8, 12, 23, 27, 30, 33, 43, 45], [16]);

describe('kaplanMeier', () => {
  it('gives the published curve of Freireich 1963 with Greenwood’s errors', () => {
    const { steps, medianDays } = kaplanMeier(TREATED);
    expect(steps.map(({ days, survival }) => [days, survival.toFixed(4)])).toEqual([
      [6, '0.8571'],
      [7, '0.8067'],
      [10, '0.7529'],
      [13, '0.6902'],
      [16, '0.6275'],
      [22, '0.5378'],
      [23, '0.4482'],
    ]);
    expect(steps.map(({ se }) => se?.toFixed(4))).toEqual(
      '.0764 .0869 .0963 .1068 .1141 .1282 .1346'.split(' ').map((se) => `0${se}`),
    );
    expect(medianDays).toBe(23);
    expect(kaplanMeier(PLACEBO).medianDays).toBe(8);
  });

  // R 4.2.2, package survival 3.5-3: survfit(Surv(time, cens) ~ 1, conf.type = "log-log") on MASS::gehan.
  it('gives the log-log bands and the median’s interval that R’s survival package gives', () => {
    const { steps, medianLowDays, medianHighDays } = kaplanMeier(TREATED);
    const bands = [
      [0.61971796, 0.95155175],
      [0.56314656, 0.92280902],
      [0.50319951, 0.88936184],
      [0.43161022, 0.84906596],
      [0.36751086, 0.80491219],
      [0.26777894, 0.74679072],
      [0.18805201, 0.68014263],
    ];
    for (const [i, [low = 0, high = 0]] of bands.entries()) {
      expect(steps[i]?.low).toBeCloseTo(low, 8);
      expect(steps[i]?.high).toBeCloseTo(high, 8);
    }
    expect([medianLowDays, medianHighDays]).toEqual([13, null]);
    const placebo = kaplanMeier(PLACEBO);
    expect([placebo.medianLowDays, placebo.medianHighDays]).toEqual([4, 11]);
    expect(placebo.steps.at(-1)).toMatchObject({ days: 23, survival: 0, se: null, low: null, high: null });
  });

  // The same call on survival::aml.
  it.each([
    [5, 23, 0.91304347826, 0.05875338476, 0.694947537532, 0.9775156699],
    [23, 13, 0.54658385093, 0.10725064174, 0.319250413971, 0.7264491738],
    [27, 11, 0.49689440994, 0.10840178079, 0.275565628012, 0.6842137884],
    [48, 2, 0.08281573499, 0.0726618005, 0.006955966799, 0.286760368],
  ])('agrees with R on the aml data at week %i', (week, atRisk, survival, se, low, high) => {
    const curve = kaplanMeier([...MAINTAINED, ...NOT_MAINTAINED]);
    const step = stepAt(curve, week);
    expect(step?.atRisk).toBe(atRisk);
    expect(step?.survival).toBeCloseTo(survival, 10);
    expect(step?.se).toBeCloseTo(se, 10);
    expect(step?.low).toBeCloseTo(low, 9);
    expect(step?.high).toBeCloseTo(high, 9);
    expect([curve.medianDays, curve.medianLowDays, curve.medianHighDays]).toEqual([27, 13, 34]);
  });

  it('says nothing where nothing ended', () => {
    expect(kaplanMeier([])).toMatchObject({ cases: 0, steps: [], medianDays: null, followedDays: 0 });
    expect(kaplanMeier(cases([], [4, 9]))).toMatchObject({ cases: 2, ended: 0, steps: [], followedDays: 9 });
  });

  it('is the plain share while nobody is open, and does not mind how cases are grouped', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 1, max: 30 }), { minLength: 1, maxLength: 60 }), (days) => {
        for (const { days: day, survival } of kaplanMeier(cases(days)).steps) {
          expect(survival).toBeCloseTo(days.filter((other) => other > day).length / days.length, 12);
        }
      }),
    );
    const grouped = [
      { days: 3, ended: 2, open: 1 },
      { days: 1, ended: 1, open: 0 },
    ];
    expect(kaplanMeier(grouped)).toEqual(kaplanMeier(cases([3, 1, 3], [3])));
  });
});

describe('logRank', () => {
  // Reference printed 16.793; survdiff gives 16.79294099, p = 4.1688091e-05, expected 19.25050095.
  it('gives the published comparison of Freireich 1963', () => {
    const test = logRank(TREATED, PLACEBO);
    expect(test?.chiSquared).toBeCloseTo(16.79294099, 7);
    expect(test?.expected).toBeCloseTo(19.25050095, 7);
    expect(test?.observed).toBe(9);
    expect(test?.p).toBeCloseTo(4.1688091e-5, 8);
  });

  it('agrees with R’s survdiff on the aml data, whichever group comes first', () => {
    expect(logRank(MAINTAINED, NOT_MAINTAINED)?.chiSquared).toBeCloseTo(3.39638869898, 9);
    expect(logRank(NOT_MAINTAINED, MAINTAINED)?.chiSquared).toBeCloseTo(3.39638869898, 9);
  });

  it('does not tell where it cannot', () => {
    expect(logRank([], TREATED)).toBeUndefined();
    expect(logRank(cases([], [5]), cases([], [7]))).toBeUndefined();
  });
});
