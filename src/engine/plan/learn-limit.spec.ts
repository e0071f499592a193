import { describe, expect, it } from '@jest/globals';

import { seededNormal, seededUniform, truncatedNormal } from '../stats/index.js';
import { type HoldLimit, type HoldMark, learnLimit } from './index.js';

const nape = (mm: number, sdMm?: number): HoldLimit & { kind: 'grown-by' } =>
  sdMm === undefined ? { kind: 'grown-by', zone: 'nape', mm } : { kind: 'grown-by', zone: 'nape', mm, sdMm };

const learn = (limit: HoldLimit, state: HoldMark['state'], reached: number, reachedSd = 0) =>
  learnLimit(limit, { state, reached, reachedSd }).limit as HoldLimit & { kind: 'grown-by' };

describe('truncatedNormal', () => {
  // The half-normal distribution: mean sqrt(2/pi), variance 1 - 2/pi (any handbook).
  it('gives the half-normal distribution above 0', () => {
    const half = truncatedNormal(0, 1, 0, Infinity);
    expect(half.mean).toBeCloseTo(Math.sqrt(2 / Math.PI), 12);
    expect(half.variance).toBeCloseTo(1 - 2 / Math.PI, 12);
    expect(truncatedNormal(0, 1, -Infinity, 0).mean).toBeCloseTo(-half.mean, 12);
  });

  it('agrees with summing the density, also far out', () => {
    for (const [mean, sd, low, high] of [
      [2, 3, -1, 4],
      [0, 1, 6, 7],
      [0, 2, -30, -12],
    ] as const) {
      let mass = 0;
      let first = 0;
      let second = 0;
      const steps = 20_000;
      for (let i = 0; i < steps; i += 1) {
        const x = low + ((i + 0.5) / steps) * (high - low);
        const weight = Math.exp(-0.5 * ((x - mean) / sd) ** 2);
        mass += weight;
        first += weight * x;
        second += weight * x * x;
      }
      const exact = truncatedNormal(mean, sd, low, high);
      expect(exact.mean).toBeCloseTo(first / mass, 6);
      expect(exact.variance).toBeCloseTo(second / mass - (first / mass) ** 2, 5);
    }
  });
});

describe('learnLimit', () => {
  it('moves by the half-normal distribution when the mark falls on the limit itself', () => {
    const held = learn(nape(10, 3), 'still-holding', 10);
    expect(held.mm).toBeCloseTo(10 + 3 * Math.sqrt(2 / Math.PI), 2);
    expect(held.sdMm).toBeCloseTo(3 * Math.sqrt(1 - 2 / Math.PI), 2);
  });

  it('learns less from a doubtful length, nothing from what was clear before, and never moves a fixed limit', () => {
    const sure = learn(nape(10, 3), 'still-holding', 12).mm;
    const doubtful = learn(nape(10, 3), 'still-holding', 12, 6).mm;
    expect(doubtful).toBeGreaterThan(10);
    expect(doubtful).toBeLessThan(sure);
    expect(learn(nape(10, 1), 'still-holding', 2).mm).toBeCloseTo(10, 2);
    expect(learnLimit(nape(10, 0), { state: 'long-gone', reached: 30, reachedSd: 0 }).limit).toEqual(
      nape(10, 0),
    );
  });

  it('comes down for long gone, less for just gone, and settles where the marks are', () => {
    expect(learn(nape(10, 3), 'long-gone', 10).mm).toBeLessThan(learn(nape(10, 3), 'just-gone', 10).mm);
    let limit: HoldLimit & { kind: 'grown-by' } = nape(10);
    for (let visit = 0; visit < 6; visit += 1) limit = learn(limit, 'just-gone', 16, 1);
    expect(limit.mm).toBeGreaterThan(12.8);
    expect(limit.mm).toBeLessThan(16);
  });

  it('reads a contrast downwards', () => {
    const contrast: HoldLimit = {
      kind: 'contrast',
      zone: 'nape',
      against: 'back',
      by: 'ratio',
      value: 3,
      sd: 0.5,
    };
    const held = learnLimit(contrast, { state: 'still-holding', reached: 2.6, reachedSd: 0.05 });
    expect(held.limit).toMatchObject({ kind: 'contrast', zone: 'nape' });
    expect((held.limit as HoldLimit & { kind: 'contrast' }).value).toBeLessThan(3);
    expect(held.note).toMatch(
      /^Seen as still holding at 2\.6: this client's limit moves from 3 to 2\.\d+\.$/,
    );
  });

  it('halves the error of the house limit for a thousand simulated clients within eight visits, and knows how sure it is', () => {
    const uniform = seededUniform(8);
    const normal = seededNormal(uniform);
    let houseError = 0;
    let learnedError = 0;
    let inside = 0;
    for (let client = 0; client < 1000; client += 1) {
      const own = 12 + 3 * normal();
      let limit = nape(12, 3);
      for (let visit = 0; visit < 8; visit += 1) {
        const grown = 8 + 8 * uniform();
        const state = grown < own ? 'still-holding' : grown < own + 3 ? 'just-gone' : 'long-gone';
        limit = learn(limit, state, grown + normal(), 1);
      }
      houseError += Math.abs(own - 12) / 1000;
      learnedError += Math.abs(own - limit.mm) / 1000;
      if (Math.abs(own - limit.mm) < 1.645 * (limit.sdMm ?? 0)) inside += 1;
    }
    expect(learnedError).toBeLessThan(0.5 * houseError);
    expect(inside / 1000).toBeGreaterThan(0.85);
    expect(inside / 1000).toBeLessThan(0.95);
  });

  it('names what it cannot use', () => {
    expect(() => learn(nape(10), 'just-gone', Number.NaN)).toThrow(
      expect.objectContaining({ field: 'reached' }),
    );
    const landmark: HoldLimit = { kind: 'landmark', zone: 'fringe', landmark: 'brow' };
    expect(() => learn(landmark, 'just-gone', 5)).toThrow(expect.objectContaining({ field: 'allowanceMm' }));
  });
});
