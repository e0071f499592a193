import { describe, expect, it } from '@jest/globals';
import {
  gaussHermite,
  normalCdf,
  normalDensity,
  normalQuantile,
  seededNormal,
  seededUniform,
  truncatedNormal,
} from './index.js';

/** Mean and variance of a normal variable within bounds by Simpson's rule, which knows none of the formulas. */
function bySimpson(mean: number, sd: number, low: number, high: number) {
  const steps = 2_000;
  const width = (high - low) / steps;
  const moments = [0, 0, 0];
  for (let i = 0; i <= steps; i += 1) {
    const x = low + i * width;
    const weight =
      (i === 0 || i === steps ? 1 : i % 2 === 1 ? 4 : 2) * Math.exp(-0.5 * ((x - mean) / sd) ** 2);
    moments.forEach((sum, power) => {
      moments[power] = sum + weight * x ** power;
    });
  }
  const [whole = 1, first = 0, second = 0] = moments;
  return { mean: first / whole, variance: second / whole - (first / whole) ** 2 };
}

describe('the normal distribution far out', () => {
  // Birnbaum 1942 (below) and Sampford 1953 (above) on Mills' ratio (from memory); they close in on it as x grows.
  it.each([5, 6.9, 7.05, 7.08, 7.5, 9, 15, 30, 36.9])('keeps to the bounds of Mills’ ratio at %d', (x) => {
    const ratio = normalCdf(-x) / normalDensity(x);
    expect(ratio).toBeGreaterThan((Math.sqrt(4 + x * x) - x) / 2);
    expect(ratio).toBeLessThan(4 / (3 * x + Math.sqrt(x * x + 8)));
    expect(normalCdf(x)).toBeCloseTo(1, 6);
  });

  it('is continuous where one approximation takes over from the other', () => {
    const at = (x: number) => normalCdf(-x) / normalDensity(x);
    expect(at(7.0710678119) / at(7.0710678118)).toBeCloseTo(1, 7);
  });

  it('is 0 and 1 beyond what can be told', () => {
    expect([normalCdf(-38), normalCdf(38), normalCdf(37), normalCdf(Number.POSITIVE_INFINITY)]).toEqual([
      0, 1, 1, 1,
    ]);
    expect(normalCdf(-37)).toBeGreaterThan(0);
  });

  it.each([0, 1, -0.1, 1.1, Number.NaN])('has no quantile of %d', (probability) => {
    expect(() => normalQuantile(probability)).toThrow('probability must lie strictly between 0 and 1');
  });

  it('has quantiles that mirror each other', () => {
    for (const p of [1e-12, 1e-4, 0.3, 0.5]) expect(normalQuantile(1 - p)).toBeCloseTo(-normalQuantile(p), 3);
    expect(normalQuantile(0.5)).toBeCloseTo(0, 15);
  });
});

describe('truncatedNormal', () => {
  // Half-normal distribution: mean √(2/π), variance 1 - 2/π (any handbook).
  it('is the half-normal from the middle on', () => {
    for (const [low, high, sign] of [
      [0, Number.POSITIVE_INFINITY, 1],
      [Number.NEGATIVE_INFINITY, 0, -1],
    ] as const) {
      const { mean, variance } = truncatedNormal(0, 1, low, high);
      expect(mean).toBeCloseTo(sign * Math.sqrt(2 / Math.PI), 12);
      expect(variance).toBeCloseTo(1 - 2 / Math.PI, 12);
    }
    const scaled = truncatedNormal(10, 2, 10, Number.POSITIVE_INFINITY);
    expect(scaled.mean).toBeCloseTo(10 + 2 * Math.sqrt(2 / Math.PI), 12);
    expect(scaled.variance).toBeCloseTo(4 * (1 - 2 / Math.PI), 12);
  });

  it.each([
    [0, 1, -1, 1],
    [0, 1, 1, 2],
    [0, 1, -3, -2.5],
    [5, 2, 4, 12],
    [5, 2, -3, 4],
    [-1, 0.5, 1, 2],
  ])('agrees with a plain integration: N(%d, %d²) between %d and %d', (mean, sd, low, high) => {
    const got = truncatedNormal(mean, sd, low, high);
    const slow = bySimpson(mean, sd, low, high);
    expect(got.mean).toBeCloseTo(slow.mean, 9);
    expect(got.variance).toBeCloseTo(slow.variance, 9);
  });

  it('is as good as unbounded between far bounds, and the nearest bound where nothing can lie', () => {
    const open = truncatedNormal(3, 2, Number.NEGATIVE_INFINITY, Number.POSITIVE_INFINITY);
    expect([open.mean, open.variance]).toEqual([3, 4]);
    expect(truncatedNormal(0, 1, 50, 60)).toEqual({ mean: 50, variance: 0 });
    expect(truncatedNormal(0, 1, -60, -50)).toEqual({ mean: -50, variance: 0 });
  });
});

describe('gaussHermite', () => {
  // Exact up to degree 2n - 1: the even moments of the standard normal are the double factorials 1, 1, 3, 15, 105…
  it.each([1, 2, 3, 6, 9, 20, 60])('gives every moment that %d nodes can give', (count) => {
    const { nodes, weights } = gaussHermite(count);
    expect(nodes).toHaveLength(count);
    let exact = 1;
    for (let power = 2; power < Math.min(2 * count, 24); power += 2) {
      exact *= power - 1;
      const moment = nodes.reduce((sum, x, i) => sum + (weights[i] ?? 0) * x ** power, 0);
      expect(moment / exact).toBeCloseTo(1, 8);
    }
    expect(nodes.toSorted((a, b) => a - b)).toEqual(nodes);
    expect(new Set(nodes.map((x) => x.toFixed(6))).size).toBe(count);
  });
});

describe('seeded random numbers', () => {
  /** mulberry32 as its author published it (public domain; from memory). */
  const mulberry32 = (seed: number) => {
    let a = seed;
    return () => {
      a += 0x6d2b79f5;
      let t = a;
      t = Math.imul(t ^ (t >>> 15), t | 1);
      t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
      return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
    };
  };

  it.each([0, 1, 20260514, 4294967295])('are those of the published generator, seed %d', (seed) => {
    const [ours, theirs] = [seededUniform(seed), mulberry32(seed)];
    for (let i = 0; i < 50; i += 1) expect(ours()).toBe(theirs());
  });

  it('become normal by the polar method, what lies outside the circle or in its middle thrown away', () => {
    // u = 0.5, v = 0: s = 0.25, and √(-2 ln 0.25 / 0.25) = 3.330…
    const given = [0.99, 0.99, 0.5, 0.5, 1, 0.5, 0.75, 0.5, 0.5, 0.75];
    const normal = seededNormal(() => given.shift() ?? Number.NaN);
    const scale = Math.sqrt((-2 * Math.log(0.25)) / 0.25);
    expect([normal(), normal(), normal(), normal()]).toEqual([0.5 * scale, 0, 0, 0.5 * scale]);
    expect(given).toEqual([]);
  });
});
