import { describe, expect, it } from '@jest/globals';
import { buildHead, sphereSurface } from '../head/index.js';
import type { FallTable } from './fall.js';
import { sampleStrands, strandTableOf } from './strands.js';

const ball = { ...buildHead({ rootCount: 200 }), surface: sphereSurface(90) };

/** Fall lines in even steps of 3 mm along y from (x, y, z), as long as given, and then straight down. */
function straight(lines: readonly { at: readonly [number, number, number]; lyingMm: number }[]): FallTable {
  const start = [0];
  const points: number[] = [];
  const arcMm: number[] = [];
  for (const { at, lyingMm } of lines) {
    for (let arc = 0; arc <= lyingMm; arc += 3) {
      arcMm.push(arc);
      points.push(at[0], at[1] + arc, at[2]);
    }
    start.push(arcMm.length);
  }
  return {
    count: lines.length,
    start: Uint32Array.from(start),
    points: Float32Array.from(points),
    arcMm: Float32Array.from(arcMm),
    stepMm: 3,
  };
}

const tableOf = (...lines: Parameters<typeof straight>[0]) => strandTableOf(ball, straight(lines));

describe('strand table', () => {
  it('has a point every 6 mm up to where the path has left the head', () => {
    // Of 15 mm there are points at 0, 6, 12 and 18: the last hangs 3 mm under the end.
    const table = tableOf({ at: [0, 30, 12], lyingMm: 15 }, { at: [5, 0, 9], lyingMm: 12 });
    expect(table.count).toBe(2);
    expect([...table.start]).toEqual([0, 4, 7]);
    expect([...table.position]).toEqual([
      ...[0, 30, 12, 0, 36, 12, 0, 42, 12, 0, 45, 9],
      ...[5, 0, 9, 5, 6, 9, 5, 12, 9],
    ]);
  });

  it('has one point where a root lies below the equator', () => {
    const table = tableOf({ at: [0, 30, -12], lyingMm: 0 }, { at: [0, 40, -9], lyingMm: 0 });
    expect([...table.start]).toEqual([0, 1, 2]);
  });

  it('knows the outward normal, level below the equator so that nothing is pushed down', () => {
    // (0, 36, 27) and (0, 42, 27) of the ball point the way they lie; 45² = 36² + 27².
    const { normal } = tableOf({ at: [0, 36, 27], lyingMm: 0 }, { at: [30, -40, -20], lyingMm: 0 });
    expect(normal[0]).toBeCloseTo(0, 6);
    expect(normal[1]).toBeCloseTo(0.8, 6);
    expect(normal[2]).toBeCloseTo(0.6, 6);
    expect(normal[3]).toBeCloseTo(0.6, 6);
    expect(normal[4]).toBeCloseTo(-0.8, 6);
    expect(normal[5]).toBe(0);
  });

  it.each([
    { name: 'front', at: [0, 50, 0], column: 36 },
    { name: 'a little to the left of the front', at: [-1, 50, 0], column: 35 },
    { name: 'right', at: [50, 0.01, 0], column: 53 },
    { name: 'left', at: [-50, 0.01, 0], column: 18 },
    { name: 'straight behind', at: [0, -50, 0], column: 71 },
    { name: 'a little to the left of behind', at: [-1, -50, 0], column: 0 },
  ] as const)('counts columns of 5 degrees from behind by the left: $name is $column', ({ at, column }) => {
    expect(tableOf({ at, lyingMm: 0 }).column[0]).toBe(column);
  });

  it('is built once per fall table', () => {
    const fall = straight([{ at: [0, 30, 12], lyingMm: 12 }]);
    expect(strandTableOf(ball, fall)).toBe(strandTableOf(ball, fall));
    expect(strandTableOf(ball, fall).areaMm2).toBe(ball.roots.areaMm2);
  });
});

describe('sampleStrands', () => {
  const samplesOf = (...lengths: number[]) =>
    sampleStrands(
      tableOf(...lengths.map((_, i) => ({ at: [i, 30, 12] as const, lyingMm: 12 }))),
      Float32Array.from(lengths),
    );

  it('stands in the middle of every step along the path, and then straight down', () => {
    // 12 mm lie: two steps of 6 with middles at 3 and 9; 15 more hang: middles 3, 9 and, of the last 3 mm, 13.5 down.
    const { start, x, y, z, mm, at } = samplesOf(27);
    expect([...start]).toEqual([0, 5]);
    expect([...x]).toEqual([0, 0, 0, 0, 0]);
    expect([...y]).toEqual([33, 39, 42, 42, 42]);
    expect([...z]).toEqual([12, 12, 9, 3, -1.5]);
    expect([...mm]).toEqual([6, 6, 6, 6, 3]);
    expect([...at]).toEqual([0, 1, 2, 2, 2]);
  });

  it('ends where the strand ends', () => {
    // 9 mm: a whole step and half of one, whose middle is a quarter of a step on.
    const { y, mm } = samplesOf(9);
    expect([...y]).toEqual([33, 37.5]);
    expect([...mm]).toEqual([6, 3]);
  });

  it('has none of bare skin and follows with the next root', () => {
    const { start, x, at } = samplesOf(0, 7, 0, 3);
    expect([...start]).toEqual([0, 0, 2, 2, 3]);
    expect([...x]).toEqual([1, 1, 3]);
    expect([...at]).toEqual([3, 4, 9]);
  });

  it('moves along all three axes of a slanting path', () => {
    const slanting = {
      count: 1,
      start: Uint32Array.of(0, 3),
      // Steps of 6 along (2, 4, -4), whose length is 6.
      points: Float32Array.of(10, 20, 30, 12, 24, 26, 14, 28, 22),
      arcMm: Float32Array.of(0, 6, 12),
      stepMm: 6,
    };
    const { x, y, z } = sampleStrands(strandTableOf(ball, slanting), Float32Array.of(12));
    expect([...x]).toEqual([11, 13]);
    expect([...y]).toEqual([22, 26]);
    expect([...z]).toEqual([28, 24]);
  });
});
