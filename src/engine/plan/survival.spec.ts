import { describe, expect, it } from '@jest/globals';

import { normalCdf, normalDensity } from '../stats/index.js';
import { ShapeSurvival } from './survival.js';
import { HEAD_NUMBERS, MARGIN_NUMBERS } from './window-row.js';

const { asin, hypot, PI } = Math;

/** One client: per zone the mean rate, its part shared by the person, the rest, and the error of the length left. */
interface Client {
  readonly mean: readonly number[];
  readonly shared: readonly number[];
  readonly rest: readonly number[];
  readonly left: readonly number[];
}
/** c, z1, o1, a1, b1, z2, o2, a2, b2, noise: see Margin. */
type Numbers = readonly [number, number, number, number, number, number, number, number, number, number];

const client: Client = {
  mean: [0.3, 0.32, 0.34, 0.36, 0.38, 0.4, 0.42],
  shared: [0.05, 0.055, 0.06, 0.065, 0.07, 0.05, 0.06],
  rest: [0.05, 0.045, 0.04, 0.035, 0.03, 0.045, 0.05],
  left: [1, 1.5, 2, 2.5, 3, 3.5, 4],
};
/** The same without a part that the zones share. */
const loners: Client = { ...client, shared: client.shared.map(() => 0) };

function rowOf({ mean, shared, rest, left }: Client, limits: readonly Numbers[]): Float64Array {
  return Float64Array.from([...mean, ...shared, ...rest, ...left, ...limits.flat()]);
}
function shapeOf(whose: Client, limits: readonly Numbers[], only?: number): ShapeSurvival {
  const row = rowOf(whose, limits);
  const shape = new ShapeSurvival();
  shape.load(row, 0, row.length, only);
  return shape;
}

/**
 * Mean of a margin on a day and its loads on independent standard normal variables, straight from the definition of a
 * Margin: the person, the rest of the rate of each zone, the error of each length, the doubt about each limit.
 */
function definition(whose: Client, limits: readonly Numbers[], days: number) {
  return limits.map(([c, z1, o1, a1, b1, z2, o2, a2, b2, noise], k) => {
    const loads = new Array<number>(15 + limits.length).fill(0);
    let mean = c;
    for (const [z, o, a, b] of [
      [z1, o1, a1, b1],
      [z2, o2, a2, b2],
    ] as const) {
      if (z < 0) continue;
      mean -= a * (days + o) * (whose.mean[z] as number);
      loads[0] = (loads[0] as number) - a * (days + o) * (whose.shared[z] as number);
      loads[1 + z] = -a * (days + o) * (whose.rest[z] as number);
      loads[8 + z] = -b * (whose.left[z] as number);
    }
    loads[15 + k] = noise;
    return { mean, loads, sd: hypot(...loads) };
  });
}

/** The limits moved so that each is passed by the day with probability 1/2: their margins have mean 0 then. */
const evenOn = (whose: Client, limits: readonly Numbers[], days: number) =>
  limits.map((limit, k): Numbers => {
    const [c, ...rest] = limit;
    return [c - (definition(whose, limits, days)[k]?.mean as number), ...rest];
  });

function correlation(whose: Client, limits: readonly Numbers[], days: number, j: number, k: number): number {
  const all = definition(whose, limits, days);
  const [one, two] = [all[j], all[k]] as [(typeof all)[number], (typeof all)[number]];
  return one.loads.reduce((sum, load, i) => sum + load * (two.loads[i] as number), 0) / (one.sd * two.sd);
}

/** Probability that two or three standard normal variables are above 0 (orthants; Johnson, Kotz 1972, 35.3). */
function orthant(...correlations: readonly number[]): number {
  const sum = correlations.reduce((total, r) => total + asin(r), 0);
  return correlations.length === 1 ? 1 / 4 + sum / (2 * PI) : 1 / 8 + sum / (4 * PI);
}

const NAPE = 6;
const BACK = 5;
const DAYS = 40;
const one = (z: number, c: number, noise = 0): Numbers => [c, z, 0, 1, 0, -1, 0, 0, 0, noise];

describe('ShapeSurvival of one limit', () => {
  // The margin is normal: held with probability Φ(mean / sd).
  it.each<[string, Numbers]>([
    ['a rate', one(3, 14)],
    ['a doubtful limit', one(3, 14, 2)],
    ['a length left', [14, 3, 0, 1, 1, -1, 0, 0, 0, 0]],
    ['days before', [24, 3, 30, 1, 1, -1, 0, 0, 0, 1]],
    ['a contrast', [12, 3, 10, 2, 2, 5, 20, -1, -1, 1]],
  ])('is the normal distribution of its margin: %s', (_, limit) => {
    for (const whose of [client, loners]) {
      const shape = shapeOf(whose, [limit]);
      for (const days of [0, 1, 20, 40, 60, 300]) {
        const [margin] = definition(whose, [limit], days);
        const { mean, sd } = margin as { mean: number; sd: number };
        const expected = sd === 0 ? 0 : 1 - normalCdf(mean / sd);
        // A linear table; 2e-6 is what it promises.
        expect(Math.abs(shape.failed(days) - expected)).toBeLessThan(3e-6);
      }
    }
  });

  it('is the step that it must be where nothing is unsure', () => {
    const sure = { ...loners, rest: client.rest.map(() => 0) };
    // 12 mm at 0.3 mm a day.
    const shape = shapeOf(sure, [one(0, 12)]);
    expect(shape.failed(39.99)).toBeCloseTo(0, 12);
    expect(shape.failed(40.01)).toBeCloseTo(1, 12);
  });
});

describe('ShapeSurvival of limits without a zone in common', () => {
  const limits = [one(0, 13), one(3, 15), one(NAPE, 18)];

  it('is their product for zones that share nothing', () => {
    const expected = definition(loners, limits, DAYS).reduce(
      (p, { mean, sd }) => p * normalCdf(mean / sd),
      1,
    );
    expect(shapeOf(loners, limits).failed(DAYS)).toBeCloseTo(1 - expected, 5);
  });

  it('gains by what the person shares', () => {
    const even = evenOn(client, limits, DAYS);
    const r = (j: number, k: number) => correlation(client, even, DAYS, j, k);
    const expected = orthant(r(0, 1), r(0, 2), r(1, 2));
    expect(expected).toBeGreaterThan(1 / 8 + 0.1);
    // Nine nodes over the person, whose part is here up to 2.3 times the rest.
    expect(Math.abs(1 - shapeOf(client, even).failed(DAYS) - expected)).toBeLessThan(0.003);
  });
});

describe('ShapeSurvival of two limits with a zone in common', () => {
  // Both passed by that day in half of all cases: together they hold as two correlated normal variables are both above
  // 0. Mendell and Elston's moments come within 0.002 of that up to correlations of 0.9.
  it.each<[string, Numbers, Numbers]>([
    ['two doubts', one(3, 0, 2), one(3, 0, 1)],
    ['the length left in one', [0, 3, 0, 1, 1, -1, 0, 0, 0, 0], one(3, 0, 1)],
    ['the length left in both', [0, 3, 0, 1, 1, -1, 0, 0, 0, 3], [0, 3, 0, 1, 2, -1, 0, 0, 0, 2]],
    ['days before', [0, 3, 30, 1, 1, -1, 0, 0, 0, 4], [0, 3, 7, 1, 0, -1, 0, 0, 0, 1.5]],
    ['a contrast by its shorter zone', [0, 3, 0, 1, 1, -1, 0, 0, 0, 2], [0, 3, 10, 3, 3, 5, 20, -1, -1, 1]],
    ['a contrast by its longer zone', [0, 5, 10, 1, 1, -1, 0, 0, 0, 2], [0, 3, 10, 2, 2, 5, 20, -1, -1, 1]],
    ['two contrasts crosswise', [0, 5, 3, 1, 1, 3, 5, -1, -1, 2], [0, 3, 10, 2, 2, 5, 20, -1, -1, 1]],
    ['a chain of contrasts', [0, 2, 3, 1, 1, 3, 5, -1, -1, 2], [0, 3, 10, 2, 2, 5, 20, -1, -1, 1]],
    ['contrasts to the same zone', [0, 2, 3, 1, 1, 5, 5, -1, -1, 2], [0, 3, 10, 2, 2, 5, 20, -1, -1, 1]],
    ['the first zone, whose place is 0', [0, 0, 0, 1, 0, -1, 0, 0, 0, 2], [0, 3, 10, 2, 2, 0, 20, -1, -1, 1]],
    [
      'contrasts both to the first zone',
      [0, 2, 3, 1, 1, 0, 5, -1, -1, 2],
      [0, 3, 10, 2, 2, 0, 20, -1, -1, 1],
    ],
  ])('is as correlated as they are: %s', (_, a, b) => {
    for (const whose of [loners, client]) {
      for (const given of [
        [a, b],
        [b, a],
      ]) {
        const limits = evenOn(whose, given, DAYS);
        const expected = orthant(correlation(whose, limits, DAYS, 0, 1));
        expect(Math.abs(1 - shapeOf(whose, limits).failed(DAYS) - expected)).toBeLessThan(0.002);
      }
    }
  });

  it('sees what the length left has in common where the rates are sure', () => {
    const sure = { ...loners, rest: client.rest.map(() => 0) };
    const left = (noise: number): Numbers => [0, 3, 0, 1, 1, -1, 0, 0, 0, noise];
    const limits = evenOn(sure, [left(3), left(2)], DAYS);
    const expected = orthant(correlation(sure, limits, DAYS, 0, 1));
    expect(expected).toBeGreaterThan(0.3);
    expect(Math.abs(1 - shapeOf(sure, limits).failed(DAYS) - expected)).toBeLessThan(0.002);
  });

  it('looks at the day of the cut too, when only the length left can be wrong', () => {
    const limits = evenOn(
      loners,
      [
        [0, 3, 0, 1, 1, -1, 0, 0, 0, 3],
        [0, 3, 0, 1, 1, -1, 0, 0, 0, 2],
      ],
      0,
    );
    // 2.5² / √((2.5² + 9)(2.5² + 4)) = 0.5.
    expect(correlation(loners, limits, 0, 0, 1)).toBeCloseTo(0.5, 2);
    expect(1 - shapeOf(loners, limits).failed(0)).toBeCloseTo(orthant(0.5), 2);
  });
});

describe('ShapeSurvival of more limits with a zone in common', () => {
  it('takes three as correlated as they are', () => {
    for (const whose of [loners, client]) {
      const limits = evenOn(
        whose,
        [one(3, 0, 2), [0, 3, 10, 2, 2, 5, 20, -1, -1, 4], [0, 5, 0, 1, 1, -1, 0, 0, 0, 3]],
        DAYS,
      );
      const r = (j: number, k: number) => correlation(whose, limits, DAYS, j, k);
      expect(r(1, 2)).toBeLessThan(0);
      const expected = orthant(r(0, 1), r(0, 2), r(1, 2));
      expect(Math.abs(1 - shapeOf(whose, limits).failed(DAYS) - expected)).toBeLessThan(0.003);
    }
  });

  // Of n + 1 equal chances none is likelier to be the least: with correlations of 1/2, a common part as large as each
  // one's own, n variables are all above 0 in 1 / (n + 1) of all cases.
  it.each([2, 3, 4, 6])('holds one time in n + 1 when %d limits share half of what is unsure', (n) => {
    const own = DAYS * (loners.rest[NAPE] as number);
    const limits = Array.from({ length: n }, () => one(NAPE, 0, own));
    const survival = 1 - shapeOf(loners, evenOn(loners, limits, DAYS)).failed(DAYS);
    expect(Math.abs(survival - 1 / (n + 1))).toBeLessThan(0.004);
  });

  it('takes the most endangered first, in whatever order they are given', () => {
    // Own doubt half of what is common: correlation 0.8. One at its limit, the other a standard deviation away; given
    // what is common, u, they are independent: the integral of φ(u) Φ(2u) Φ(2u + √5). The other order errs by 0.014.
    const own = (DAYS * (loners.rest[NAPE] as number)) / 2;
    const [near, far] = evenOn(loners, [one(NAPE, 0, own), one(NAPE, 0, own)], DAYS) as [Numbers, Numbers];
    const away = far.with(0, far[0] + own * Math.sqrt(5)) as unknown as Numbers;
    let expected = 0;
    for (let u = -8; u < 8; u += 0.01) {
      expected += 0.01 * normalDensity(u) * normalCdf(2 * u) * normalCdf(2 * u + Math.sqrt(5));
    }
    for (const given of [
      [near, away],
      [away, near],
    ]) {
      expect(Math.abs(1 - shapeOf(loners, given).failed(DAYS) - expected)).toBeLessThan(0.004);
    }
  });

  it('gives the same for every order of three', () => {
    const [a, b, c]: Numbers[] = [
      one(NAPE, 16, 2),
      [40, NAPE, 5, 2, 2, BACK, 20, -1, -1, 4],
      one(BACK, 17, 1),
    ];
    const orders = [
      [a, b, c],
      [a, c, b],
      [b, a, c],
      [b, c, a],
      [c, a, b],
      [c, b, a],
    ] as Numbers[][];
    for (const days of [25, DAYS, 60]) {
      const [first = 0, ...others] = orders.map((limits) => shapeOf(client, limits).failed(days));
      for (const other of others) expect(other).toBeCloseTo(first, 10);
    }
  });

  it('multiplies those that share a zone with one that does not', () => {
    const linked = [one(NAPE, 0, 2), one(NAPE, 0, 1)];
    const all = evenOn(loners, [linked[0] as Numbers, one(2, 0), linked[1] as Numbers], DAYS);
    const expected = orthant(correlation(loners, all, DAYS, 0, 2)) / 2;
    expect(Math.abs(1 - shapeOf(loners, all).failed(DAYS) - expected)).toBeLessThan(0.002);
  });
});

describe('ShapeSurvival of limits that are one', () => {
  const base: Numbers = [3, 3, 10, 2, 2, 5, 20, -1, -1, 0];

  it('counts the tighter of two with the same random part only, and knows which it was', () => {
    const tighter = base.with(0, 2) as unknown as Numbers;
    for (const [limits, tight] of [
      [[base, tighter], 1],
      [[tighter, base], 0],
    ] as const) {
      const shape = shapeOf(loners, limits);
      expect(shape.failed(DAYS)).toBe(shapeOf(loners, [tighter]).failed(DAYS));
      expect(shape.likeliestFailed(DAYS)).toBe(tight);
    }
    expect(shapeOf(loners, [base, base]).likeliestFailed(DAYS)).toBe(0);
  });

  // Two that differ in anything else can each be passed while the other holds.
  it.each<[string, number, number]>([
    ['first zone', 1, 4],
    ['first days', 2, 90],
    ['first part of the rate', 3, -2],
    ['first part of the length', 4, 0.5],
    ['second zone', 5, 2],
    ['second days', 6, 120],
    ['second part of the rate', 7, 2],
    ['second part of the length', 8, 1],
    ['doubt', 9, 3],
  ])('counts two that differ in their %s', (_, column, value) => {
    const other = base.with(column, value) as unknown as Numbers;
    for (const given of [
      [base, other],
      [other, base],
    ]) {
      const limits = evenOn(loners, given, DAYS);
      const expected = orthant(correlation(loners, limits, DAYS, 0, 1));
      expect(expected).toBeLessThan(0.49);
      expect(Math.abs(1 - shapeOf(loners, limits).failed(DAYS) - expected)).toBeLessThan(0.008);
    }
  });

  it('counts two doubtful limits as two, however alike', () => {
    const limits = evenOn(loners, [one(3, 0, 2), one(3, 0, 2)], DAYS);
    const expected = orthant(correlation(loners, limits, DAYS, 0, 1));
    expect(Math.abs(1 - shapeOf(loners, limits).failed(DAYS) - expected)).toBeLessThan(0.002);
  });
});

describe('ShapeSurvival', () => {
  const limits = [one(0, 13), one(3, 15), one(NAPE, 14)];

  it('finds the limit likeliest to have been passed', () => {
    // 40 days: 12 of 13 mm, 14.4 of 15, 16.8 of 14; after 20 days 6 of 13, 7.2 of 15, 8.4 of 14.
    expect(shapeOf(loners, limits).likeliestFailed(DAYS)).toBe(2);
    expect(shapeOf(loners, [limits[2], limits[0], limits[1]] as Numbers[]).likeliestFailed(DAYS)).toBe(0);
    // The first of equals.
    expect(shapeOf(loners, [one(3, 15, 1), one(3, 15, 1)]).likeliestFailed(DAYS)).toBe(0);
  });

  it('looks first where the mean rates lead', () => {
    // 13 / 0.3 = 43.3, 15 / 0.36 = 41.7, 14 / 0.42 = 33.3.
    expect(shapeOf(loners, limits).meanFailureDay()).toBeCloseTo(14 / 0.42, 8);
    expect(shapeOf(loners, limits.slice(0, 2)).meanFailureDay()).toBeCloseTo(15 / 0.36, 8);
    // A limit that only recedes is never reached: two years.
    expect(shapeOf(loners, [[13, 0, 0, 1, 0, NAPE, 0, -1, 0, 0]]).meanFailureDay()).toBe(730);
    expect(shapeOf(loners, [one(0, 300)]).meanFailureDay()).toBe(730);
    // Neither is one between two zones that grow alike.
    const alike = { ...loners, mean: client.mean.map(() => 0.35) };
    expect(shapeOf(alike, [[0, 0, 0, 1, 0, NAPE, 0, -1, 0, 1]]).meanFailureDay()).toBe(730);
    // The back's 0.4 less the fringe's 0.3, of 5 mm; ten days' start of the back takes 4 of them.
    expect(shapeOf(loners, [[5, BACK, 10, 1, 0, 0, 0, -1, 0, 0]]).meanFailureDay()).toBeCloseTo(10, 8);
  });

  it('says what survival loses when one limit alone goes on', () => {
    const shape = shapeOf(loners, limits);
    const losses = [1, 0, 0];
    shape.addLosses(losses, DAYS, 2);
    const held = (days: number) =>
      definition(loners, limits, days).map(({ mean, sd }) => normalCdf(mean / sd));
    const [before, middle, after] = [held(DAYS), held(DAYS + 1), held(DAYS + 2)] as [
      number[],
      number[],
      number[],
    ];
    losses.forEach((loss, k) => {
      const others = middle.reduce((p, q, i) => (i === k ? p : p * q), 1);
      const expected = others * ((before[k] as number) - (after[k] as number));
      expect(loss - (k === 0 ? 1 : 0)).toBeCloseTo(expected, 5);
    });
    // A limit that recedes loses nothing, and gains nothing either; a place not there yet counts from 0.
    const receding = shapeOf(loners, [[1, 0, 0, 1, 0, NAPE, 0, -1, 0, 5], one(3, 15)]);
    const found: number[] = [];
    receding.addLosses(found, DAYS, 2);
    expect(found[0]).toBe(0);
    expect(found[1]).toBeGreaterThan(0);
  });

  it('loads one limit by its place, a row from where it starts, and forgets the client before', () => {
    const shape = shapeOf(client, [one(3, 0, 2), one(3, 0, 1), [0, 3, 10, 2, 2, 5, 20, -1, -1, 1]]);
    const row = rowOf(loners, limits);
    const rows = Float64Array.from([...rowOf(client, [one(1, 1)]), ...row, ...rowOf(client, [one(1, 1)])]);
    const start = HEAD_NUMBERS + MARGIN_NUMBERS;
    shape.load(rows, start, start + row.length);
    expect(shape.failed(DAYS)).toBe(shapeOf(loners, limits).failed(DAYS));
    shape.load(rows, start, start + row.length, 1);
    expect(shape.failed(DAYS)).toBe(shapeOf(loners, [limits[1] as Numbers]).failed(DAYS));
    expect(shape.likeliestFailed(DAYS)).toBe(1);
    expect(shapeOf(loners, limits, 0).failed(DAYS)).toBe(
      shapeOf(loners, [limits[0] as Numbers]).failed(DAYS),
    );
  });

  it('takes thirty limits and no more', () => {
    const many = Array.from({ length: 30 }, (_, k) => one(k % 7, 20, 1 + k));
    expect(() => shapeOf(client, many)).not.toThrow();
    expect(() => shapeOf(client, [...many, one(0, 20, 40)])).toThrow(
      expect.objectContaining({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'limits',
        message: 'A shape can have at most 30 hold limits.',
      }),
    );
  });
});
