import { describe, expect, it } from '@jest/globals';
import { buildHead, type Head } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import { edgeMm, guideLengthMm, isAtGuide, type Scalp, scalpOf } from './scalp.js';

interface Row {
  /** mm from the lower edge of the zone; the upper edge is 100 mm up. */
  readonly s: number;
  readonly length: number;
  readonly area?: number;
  /** Distances in mm to other zones. */
  readonly to?: Partial<Record<Zone, number>>;
}

/** Roots of the back with what the guide's length is read from, and their lengths. */
const back = (rows: readonly Row[], scale = 1): [scalp: Scalp, length: Float64Array] => {
  const start = Uint32Array.from({ length: rows.length + 1 }, (_, i) => i);
  const scalp = {
    head: { scale, roots: { areaMm2: Float64Array.from(rows, (row) => row.area ?? 1) } },
    neighbours: {
      ofZone: ZONES.map((zone) => (zone === 'back' ? start.subarray(0, rows.length) : new Uint32Array(0))),
      distanceMm: Float64Array.from(
        rows.flatMap((row) => ZONES.map((zone) => row.to?.[zone] ?? Number.POSITIVE_INFINITY)),
      ),
    },
    down: { start, arcMm: Float64Array.from(rows, (row) => row.s) },
    up: { start, arcMm: Float64Array.from(rows, (row) => 100 - row.s) },
  } as unknown as Scalp;
  return [scalp, Float64Array.from(rows, (row) => row.length)];
};
const below = (rows: readonly Row[], scale?: number, beside?: readonly Zone[]): number => {
  const [scalp, length] = back(rows, scale);
  return guideLengthMm(scalp, 'below', 'back', length, beside);
};

describe("the length at a zone's guide", () => {
  it('is read at the edge from the straight line through the lengths near it', () => {
    // L = 8 + s
    expect(
      below([
        { s: 2, length: 10 },
        { s: 12, length: 20 },
      ]),
    ).toBeCloseTo(8, 12);
    // Weighted: mean s (0 + 6 + 2 * 12) / 4 = 7.5, mean L (10 + 16 + 2 * 10) / 4 = 11.5,
    // slope (7.5 * 1.5 - 1.5 * 4.5 - 2 * 4.5 * 1.5) / (7.5^2 + 1.5^2 + 2 * 4.5^2) = -9 / 99, at 0: 11.5 + 7.5 / 11.
    expect(
      below([
        { s: 0, length: 10 },
        { s: 6, length: 16 },
        { s: 12, length: 10, area: 2 },
      ]),
    ).toBeCloseTo(11.5 + 7.5 / 11, 12);
  });

  it('takes the hair within 15 mm of the edge of the mean head, as much more on a larger one', () => {
    const rows = [
      { s: 5, length: 30 },
      { s: 15, length: 40 },
      { s: 15.01, length: 90 },
    ];
    expect(below(rows)).toBeCloseTo(25, 9);
    // All three within 18. Means 11.67 and 53.33, slope (6.67 * 23.33 - 3.33 * 13.33 + 3.34 * 36.67) /
    // (6.67^2 + 3.33^2 + 3.34^2) = 3.50; at the edge 53.33 - 3.50 * 11.67.
    expect(below(rows, 1.2)).toBeCloseTo(12.5, 1);
  });

  it('is the mean where all hair stands equally far from the edge', () => {
    expect(
      below([
        { s: 4, length: 30 },
        { s: 4, length: 60, area: 2 },
      ]),
    ).toBeCloseTo(50, 9);
    expect(below([{ s: 4, length: 30 }])).toBe(30);
  });

  it('is never less than nothing', () => {
    // L = -10 + 5 s
    expect(
      below([
        { s: 3, length: 5 },
        { s: 5, length: 15 },
      ]),
    ).toBe(0);
  });

  it('is at the upper edge what stands there', () => {
    const [scalp, length] = back([
      { s: 10, length: 5 },
      { s: 90, length: 40 },
      { s: 95, length: 35 },
    ]);
    // L = 30 + (100 - s)
    expect(guideLengthMm(scalp, 'above', 'back', length)).toBeCloseTo(30, 9);
    expect(edgeMm(scalp, 'above', 1)).toBe(10);
    expect(edgeMm(scalp, 'below', 1)).toBe(90);
  });

  it('is the shortest hair where the guide lies anywhere, or where none stands near the edge', () => {
    const rows = [
      { s: 10, length: 45 },
      { s: 30, length: 12 },
      { s: 40, length: 25 },
    ];
    const [scalp, length] = back(rows);
    expect(guideLengthMm(scalp, 'shortest', 'back', length)).toBe(12);
    expect(below(rows.slice(1))).toBe(12);
    // No hair at all.
    expect(guideLengthMm(scalp, 'below', 'nape', length)).toBe(0);
    expect(guideLengthMm(scalp, 'shortest', 'nape', length)).toBe(0);
  });

  it('counts only the part within 30 mm of the zones cut by it, if there is any', () => {
    const rows: Row[] = [
      { s: 5, length: 10, to: { nape: 3, 'left-side': 30 } },
      { s: 5, length: 20, to: { 'left-side': 30.01 } },
      { s: 5, length: 60, to: { 'right-side': 12 } },
    ];
    expect(below(rows, 1, ['left-side'])).toBeCloseTo(10, 9);
    expect(below(rows, 1, ['left-side', 'right-side'])).toBeCloseTo(35, 9);
    expect(below(rows, 1.1, ['left-side'])).toBeCloseTo(15, 9);
    // None of it stands beside the crown: all of it counts.
    expect(below(rows, 1, ['crown'])).toBeCloseTo(30, 9);
    expect(below(rows)).toBeCloseTo(30, 9);
    // Beside, but nowhere near the edge.
    expect(below([{ s: 40, length: 7, to: { crown: 3 } }], 1, ['crown'])).toBe(7);
  });

  it('is told by roots within 15 mm of the edge only', () => {
    const [scalp] = back([
      { s: 15, length: 1 },
      { s: 15.01, length: 1 },
      { s: 86, length: 1 },
    ]);
    const at = (place: 'below' | 'above' | 'shortest'): boolean[] =>
      [0, 1, 2].map((i) => isAtGuide(scalp, place, i));
    expect(at('below')).toEqual([true, false, false]);
    expect(at('above')).toEqual([false, false, true]);
    expect(at('shortest')).toEqual([false, false, false]);
    expect(isAtGuide(back([{ s: 17.9, length: 1 }], 1.2)[0], 'below', 0)).toBe(true);
  });
});

describe('what is known of a head', () => {
  it('is worked out once a head', () => {
    // Few roots: nothing is asked of them.
    const base = buildHead({ rootCount: 200 });
    const { position, normal, areaMm2, zone } = base.roots;
    const roots = {
      position: position.slice(0, 6),
      normal: normal.slice(0, 6),
      areaMm2: areaMm2.slice(0, 2),
    };
    const few = (): Head => ({ ...base, roots: { ...roots, count: 2, zone: zone.slice(0, 2) } });
    const head = few();
    const scalp = scalpOf(head);
    expect(scalpOf(head)).toBe(scalp);
    expect(scalp.up).toBe(scalp.up);
    expect(scalp.head).toBe(head);
    expect(scalpOf(few())).not.toBe(scalp);
  });

  it('looks down and up', () => {
    const head = buildHead({ rootCount: 200 });
    const { down, up } = scalpOf(head);
    // A root low on the nape: a short way down to the hairline, a long one up to the crown.
    const p = head.roots.position;
    const low = [...head.roots.zone.keys()].reduce((a, b) => (p[3 * b + 2]! < p[3 * a + 2]! ? b : a));
    const way = (runs: typeof down): number => {
      let mm = 0;
      for (let run = runs.start[low]!; run < runs.start[low + 1]!; run++) mm += runs.arcMm[run]!;
      return mm;
    };
    expect(way(down)).toBeLessThan(10);
    expect(way(up)).toBeGreaterThan(150);
  });
});
