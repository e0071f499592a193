import { describe, expect, it } from '@jest/globals';
import type { Silhouette } from '../outline.js';
import type { View } from '../view.js';
import { locksPath } from './locks.js';

interface Strand {
  /** y and z of its samples, seen from the right; x is 70 unless given. */
  readonly at: readonly (readonly [number, number])[];
  readonly x?: number;
  readonly lengthMm?: number;
  /** x and y of the outward normal at every sample. */
  readonly normals?: readonly (readonly [number, number])[];
}

function hair(strands: readonly Strand[]): Silhouette {
  const start = [0];
  for (const { at } of strands) start.push(start[start.length - 1]! + at.length);
  const places = strands.flatMap(({ at }) => at);
  return {
    shape: { lengthsMm: Float32Array.from(strands, ({ at, lengthMm = 6 * at.length }) => lengthMm) },
    strands: {
      count: strands.length,
      normal: strands.flatMap(({ at, normals = at.map(() => [1, 0] as const) }) =>
        normals.flatMap(([x, y]) => [x, y, 0]),
      ),
    },
    seen: {
      start: Int32Array.from(start),
      x: Float32Array.from(strands.flatMap(({ at, x = 70 }) => at.map(() => x))),
      y: Float32Array.from(places, ([y]) => y),
      z: Float32Array.from(places, ([, z]) => z),
      at: places.map((_, i) => i),
    },
  } as unknown as Silhouette;
}
/** Samples every 6 mm straight down from y, z. */
const down = (count: number, y = 0, z = 0) =>
  Array.from({ length: count }, (_, k): [number, number] => [y, z - 6 * k]);
const drawn = (strands: readonly Strand[], few?: boolean, view: View = 'right') =>
  locksPath(hair(strands), view, few);

describe('a lock', () => {
  it.each([
    // A stroke of 4 mm, or of as much as there is, from a single sample.
    { strand: { at: down(1), lengthMm: 6 }, path: 'M0 0L0 4' },
    { strand: { at: down(1), lengthMm: 3.5 }, path: 'M0 0L0 3.5' },
    { strand: { at: down(2) }, path: 'M0 0L0 6' },
    { strand: { at: down(3) }, path: 'M0 0L0 12' },
    { strand: { at: down(4) }, path: 'M0 0L0 18' },
    // From five samples on it begins at the second.
    { strand: { at: down(5) }, path: 'M0 6L0 24' },
    { strand: { at: down(6) }, path: 'M0 6L0 30' },
    { strand: { at: down(20) }, path: 'M0 6L0 114' },
  ])('hanging straight is one line to its tip: $path', ({ strand, path }) => {
    expect(drawn([strand])).toBe(path);
  });

  it('bends at every third sample that lies more than 0.4 mm beside the line', () => {
    // Samples 1, 4, 7 and 10 are drawn; at right angles to a line along (3, -4) a step of (4, 3) / 5 is 1 mm aside.
    const bent = (aside: number) =>
      Array.from({ length: 11 }, (_, k): [number, number] => [
        3 * k + (k === 4 ? aside * 0.8 : 0),
        -4 * k + (k === 4 ? aside * 0.6 : 0),
      ]);
    expect(drawn([{ at: bent(0.35) }])).toBe('M3 4L30 40');
    expect(drawn([{ at: bent(-0.35) }])).toBe('M3 4L30 40');
    // What comes next is measured from the bend: of 0.45 mm there are 0.225 left, of 5 mm 2.5.
    expect(drawn([{ at: bent(0.45) }])).toBe('M3 4Q12.4 15.7 30 40');
    expect(drawn([{ at: bent(5) }])).toBe('M3 4Q16 13 18.5 20.5Q21 28 30 40');
    expect(drawn([{ at: bent(-5) }])).toBe('M3 4Q8 19 14.5 23.5Q21 28 30 40');
  });

  it('is not drawn of hair under 3 mm, nor of none', () => {
    expect(drawn([{ at: down(1), lengthMm: 2.9 }])).toBe('');
    expect(drawn([{ at: down(1), lengthMm: 3 }])).toBe('M0 0L0 3');
    expect(drawn([{ at: [] }])).toBe('');
  });

  it('is drawn where its middle faces the viewer by 0.3 at least', () => {
    const facing = (middle: readonly [number, number], view?: View) =>
      drawn([{ at: down(4), normals: [[0, 0], [0, 0], middle, [0, 0]] }], false, view);
    expect(facing([0.3, 0])).toBe('M0 0L0 18');
    expect(facing([0.29, 0.9])).toBe('');
    expect(facing([-1, 0])).toBe('');
    expect(facing([-0.3, 0], 'left')).toBe('M0 0L0 18');
    expect(facing([0, -0.3], 'back')).toBe('M70 0L70 18');
    expect(facing([0, 0.3], 'front')).toBe('M-70 0L-70 18');
  });

  it('is mirrored from the left', () => {
    const strand: Strand = { at: down(4, 10), normals: down(4).map(() => [-1, 0]) };
    expect(drawn([strand], false, 'left')).toBe('M-10 0L-10 18');
  });
});

describe('locks beside one another', () => {
  /** How many of two are drawn, the second at so many mm from the first. */
  const both = (count: number, y: number, z = 0, few = false) =>
    (drawn([{ at: down(count) }, { at: down(count, y, z) }], few).match(/M/g) ?? []).length;

  it.each([
    // Cells are 21 mm wide, with the first strand in the middle of one: 10.5 mm to the next.
    { count: 5, y: 10, few: false, locks: 1 },
    { count: 5, y: -10, few: false, locks: 1 },
    { count: 5, y: 11, few: false, locks: 2 },
    { count: 5, y: -11, few: false, locks: 2 },
    // Under 25 mm of 11 mm: 5.5 to the next; the ends are 7 mm cells of their own.
    { count: 4, y: 5.4, few: false, locks: 1 },
    { count: 4, y: 5.6, few: false, locks: 2 },
    // Small drawings 1.6 times as wide: 16.8 and 8.8.
    { count: 5, y: 16.7, few: true, locks: 1 },
    { count: 5, y: 16.9, few: true, locks: 2 },
    { count: 4, y: 8.7, few: true, locks: 1 },
    { count: 4, y: 8.9, few: true, locks: 2 },
  ])('of $count samples $y mm apart, few: $few: $locks', ({ count, y, few, locks }) => {
    expect(both(count, y, 0, few)).toBe(locks);
  });

  it.each([
    // The middle of the first lies at -12, the end at -24; cells of 21 from -10.5 to -31.5, ends in cells of 14.
    { z: -19, locks: 1 },
    { z: -20, locks: 2 },
    { z: 1, locks: 1 },
    { z: 4, locks: 2 },
  ])('one $z mm above the other: $locks', ({ z, locks }) => {
    expect(both(5, 0, z)).toBe(locks);
  });

  it('end apart: 7 mm to the side, 14 up and down', () => {
    // Middles 30 mm apart, so that only the ends can be too near.
    const ends = (y: number, z: number) =>
      (
        drawn([
          {
            at: [
              [0, 0],
              [0, -12],
              [0, -28],
            ],
            lengthMm: 30,
          },
          {
            at: [
              [0, 0],
              [30, -12],
              [y, z],
            ],
            lengthMm: 30,
          },
        ]).match(/M/g) ?? []
      ).length;
    expect(ends(3.4, -28)).toBe(1);
    expect(ends(-3.4, -28)).toBe(1);
    expect(ends(3.6, -28)).toBe(2);
    expect(ends(-3.6, -28)).toBe(2);
    expect(ends(0, -34.9)).toBe(1);
    expect(ends(0, -21.1)).toBe(1);
    expect(ends(0, -35.1)).toBe(2);
    expect(ends(0, -20.9)).toBe(2);
  });

  it('are told apart across the head from behind', () => {
    const behind = (x: number, count: number) => {
      const strand = { at: down(count), normals: down(count).map(() => [0, -1] as const) };
      const path = drawn(
        [
          { ...strand, x: 42 },
          { ...strand, x: 42 + x },
        ],
        false,
        'back',
      );
      return path.match(/M/g)?.length;
    };
    // 42 mm is the middle of a cell of 21 and of one of 7.
    expect([behind(10, 5), behind(11, 5), behind(-10, 5), behind(-11, 5)]).toEqual([1, 2, 1, 2]);
  });

  it('count as short under 25 mm', () => {
    const both = (lengthMm: number) =>
      drawn([
        { at: down(5), lengthMm },
        { at: down(5, 10), lengthMm },
      ]).match(/M/g)?.length;
    // 10 mm apart: one cell of 21, two of 11.
    expect([both(25), both(24.9)]).toEqual([1, 2]);
  });

  it('are laid from the top of the head, where roots come last', () => {
    expect(drawn([{ at: down(5) }, { at: down(5, 3) }])).toBe('M3 6L3 24');
    expect(drawn([{ at: down(5) }, { at: down(5, 50) }])).toBe('M50 6L50 24M0 6L0 24');
  });

  it('are written to whole millimetres in small drawings', () => {
    expect(drawn([{ at: down(5, 3.4) }])).toBe('M3.4 6L3.4 24');
    expect(drawn([{ at: down(5, 3.4) }], true)).toBe('M3 6L3 24');
  });
});
