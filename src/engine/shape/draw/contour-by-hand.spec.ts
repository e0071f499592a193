import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { contour, type Loop, loopArea } from './contour.js';
import type { Raster } from './raster.js';

/** Rows from the bottom up, cells of 10 mm, the first at 0, 0. */
function grid(rows: readonly (readonly number[])[]): Raster {
  const columns = rows[0]!.length;
  const value = Float32Array.from(rows.flat());
  return { columns, rows: rows.length, cellMm: 10, uMm: 0, vMm: 0, value };
}

/** How often a loop runs anticlockwise round a point: crossings of the ray to the right, up less down. */
function turns(loop: Loop, u: number, v: number): number {
  let count = 0;
  for (let i = 0; i < loop.length; i += 2) {
    const j = (i + 2) % loop.length;
    const [u0, v0, u1, v1] = [loop[i]!, loop[i + 1]!, loop[j]!, loop[j + 1]!];
    if (v0 > v === v1 > v) continue;
    if (u0 + ((u1 - u0) * (v - v0)) / (v1 - v0) > u) count += v1 > v0 ? 1 : -1;
  }
  return count;
}

/** Random heights -9 to 9, never 0, within a rim of -1. */
const heights = fc
  .array(fc.array(fc.integer({ min: -9, max: 9 }), { minLength: 5, maxLength: 5 }), {
    minLength: 4,
    maxLength: 4,
  })
  .map((rows) => [
    Array(7).fill(-1) as number[],
    ...rows.map((row) => [-1, ...row.map((value) => value || 5), -1]),
    Array(7).fill(-1) as number[],
  ]);

describe('contour of any heights', () => {
  it('runs once round every corner above the level and round none below it', () => {
    fc.assert(
      fc.property(heights, (rows) => {
        const loops = contour(grid(rows), 0);
        const round = rows.map((row, j) =>
          row.map((_, i) => loops.reduce((sum, loop) => sum + turns(loop, 10 * i, 10 * j), 0)),
        );
        expect(round).toEqual(rows.map((row) => row.map((value) => (value >= 0 ? 1 : 0))));
      }),
      { numRuns: 60 },
    );
  });

  it('passes every side between a corner above and one below it once, where the level is reached', () => {
    fc.assert(
      fc.property(heights, (rows) => {
        const wanted: string[] = [];
        const side = (i: number, j: number, toI: number, toJ: number) => {
          const here = rows[j]![i]!;
          const there = rows[toJ]?.[toI] ?? here;
          if (here >= 0 === there >= 0) return;
          const part = -here / (there - here);
          wanted.push(
            `${Math.fround(10 * (i + (toI - i) * part))} ${Math.fround(10 * (j + (toJ - j) * part))}`,
          );
        };
        rows.forEach((row, j) => {
          row.forEach((_, i) => {
            side(i, j, i + 1, j);
            side(i, j, i, j + 1);
          });
        });
        const found = contour(grid(rows), 0).flatMap((loop) =>
          Array.from({ length: loop.length / 2 }, (_, k) => `${loop[2 * k]} ${loop[2 * k + 1]}`),
        );
        expect(found.sort()).toEqual(wanted.sort());
      }),
      { numRuns: 60 },
    );
  });
});

describe('contour by hand', () => {
  const one = (level: number) =>
    contour(
      grid([
        [0, 0, 0, 0],
        [0, 2, 0, 0],
        [0, 0, 0, 0],
        [0, 0, 0, 0],
      ]),
      level,
    ).map((loop) => [...loop]);

  it('goes round a single corner anticlockwise, where the level is reached on each side', () => {
    // From 0 to 2 the level 1 is half-way, 0.5 a quarter of the way.
    expect(one(1)).toEqual([[10, 5, 15, 10, 10, 15, 5, 10]]);
    expect(one(0.5)).toEqual([[10, 2.5, 17.5, 10, 10, 17.5, 2.5, 10]]);
  });

  it('counts a corner at the level itself as above it', () => {
    expect(one(2)).toEqual([[10, 10, 10, 10, 10, 10, 10, 10]]);
    expect(one(2.1)).toEqual([]);
  });

  it.each([
    { name: 'rising', second: [0, 2, 0, 0], third: [0, 0, 2, 0] },
    { name: 'falling', second: [0, 0, 2, 0], third: [0, 2, 0, 0] },
  ])('keeps two corners across a saddle apart, $name', ({ second, third }) => {
    const loops = contour(grid([[0, 0, 0, 0], second, third, [0, 0, 0, 0]]), 1);
    // A diamond with diagonals of 10 mm has 50 mm².
    expect(loops.map(loopArea)).toEqual([50, 50]);
    for (const loop of loops) expect(loop).toHaveLength(8);
  });
});

describe('loopArea (shoelace)', () => {
  it('is the area anticlockwise, and less than nothing clockwise', () => {
    // A right triangle of 6 by 4 at (1, 2): 12 mm².
    expect(loopArea(Float32Array.of(1, 2, 7, 2, 7, 6))).toBe(12);
    expect(loopArea(Float32Array.of(7, 6, 7, 2, 1, 2))).toBe(-12);
    expect(loopArea(Float32Array.of(0, 0, 3, 0, 3, 2, 0, 2))).toBe(6);
  });
});
