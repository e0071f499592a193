import { describe, expect, it } from '@jest/globals';
import { errorFunction } from 'simple-statistics';

import {
  gaussHermite,
  normalCdf,
  normalDensity,
  normalQuantile,
  seededNormal,
  seededUniform,
} from './index.js';

describe('normal distribution', () => {
  // Abramowitz and Stegun, Handbook of Mathematical Functions, table 26.1.
  it.each([
    [0, 0.5],
    [1, 0.841344746068543],
    [2, 0.977249868051821],
    [3, 0.99865010196837],
  ])('agrees with the handbook at %d', (x, p) => {
    expect(normalCdf(x)).toBeCloseTo(p, 13);
    expect(normalCdf(-x)).toBeCloseTo(1 - p, 13);
  });

  it('agrees with the error function of simple-statistics to its 1.2e-7', () => {
    for (let x = -6; x <= 6; x += 0.0625) {
      expect(Math.abs(normalCdf(x) - (1 + errorFunction(x / Math.SQRT2)) / 2)).toBeLessThan(1.2e-7);
    }
  });

  // 95 % and 97.5 % points of any table; 4.753424308822899 for 1e-6 (AS241, Wichura 1988, from memory).
  it('inverts itself', () => {
    expect(normalQuantile(0.95)).toBeCloseTo(1.6448536269514722, 12);
    expect(normalQuantile(0.975)).toBeCloseTo(1.959963984540054, 12);
    expect(normalQuantile(1e-6)).toBeCloseTo(-4.753424308822899, 9);
    for (const p of [1e-9, 0.001, 0.2, 0.5, 0.77, 0.999])
      expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 13);
    expect(() => normalQuantile(1)).toThrow(RangeError);
  });
});

describe('gaussHermite', () => {
  // Abramowitz and Stegun, table 25.10, n = 5, physicists' form: nodes times sqrt 2, weights over sqrt pi.
  it('agrees with the handbook for five nodes', () => {
    const { nodes, weights } = gaussHermite(5);
    const tabled = [-2.020182870456086, -0.958572464613819, 0, 0.958572464613819, 2.020182870456086];
    const weight = [0.01995324205905, 0.3936193231522, 0.9453087204829, 0.3936193231522, 0.01995324205905];
    for (let i = 0; i < 5; i += 1) {
      expect(nodes[i]).toBeCloseTo((tabled[i] ?? 0) * Math.SQRT2, 12);
      expect(weights[i]).toBeCloseTo((weight[i] ?? 0) / Math.sqrt(Math.PI), 12);
    }
  });

  it.each([1, 2, 9, 15, 40])(
    'keeps the moments 1, 0, 1, 0, 3 of the normal distribution with %d nodes',
    (count) => {
      const { nodes, weights } = gaussHermite(count);
      const moment = (power: number) => nodes.reduce((sum, x, i) => sum + (weights[i] ?? 0) * x ** power, 0);
      const exact = [1, 0, 1, 0, 3];
      for (let power = 0; power < Math.min(5, 2 * count); power += 1) {
        expect(moment(power)).toBeCloseTo(exact[power] ?? 0, 9);
      }
    },
  );
});

describe('seeded random numbers', () => {
  it('repeat for one seed, differ for another, and have mean 0 and variance 1', () => {
    const draw = (seed: number) => Array.from({ length: 20_000 }, seededNormal(seededUniform(seed)));
    const sample = draw(1);
    expect(draw(1)).toEqual(sample);
    expect(draw(2)).not.toEqual(sample);
    const mean = sample.reduce((sum, x) => sum + x, 0) / sample.length;
    const variance = sample.reduce((sum, x) => sum + (x - mean) ** 2, 0) / sample.length;
    expect(Math.abs(mean)).toBeLessThan(0.03);
    expect(Math.abs(variance - 1)).toBeLessThan(0.04);
    expect(normalDensity(0)).toBeCloseTo(0.3989422804, 10);
  });
});
