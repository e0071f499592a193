import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { ZONES } from '../zones.js';
import { bordersOf, type PlacedRoots } from './borders.js';

const place = (roots: readonly { zone: number; at: readonly number[] }[]): PlacedRoots => ({
  count: roots.length,
  position: roots.flatMap(({ at }) => at),
  areaMm2: roots.map(() => 1),
  zone: Uint8Array.from(roots, ({ zone }) => zone),
});

const coordinate = fc.double({ min: -30, max: 30, noNaN: true });
const rootsAnywhere = fc.array(
  fc.record({ zone: fc.nat(ZONES.length - 1), at: fc.tuple(coordinate, coordinate, coordinate) }),
  { maxLength: 60 },
);

/** Every pair of roots looked at, in the order of ZONES: what cells of 9 mm only save the time of. */
function everyPair({ count, position, zone }: PlacedRoots) {
  const apart = (i: number, j: number) =>
    Math.hypot(...[0, 1, 2].map((axis) => position[3 * i + axis]! - position[3 * j + axis]!));
  const all = Array.from({ length: count }, (_, i) => i);
  return ZONES.flatMap((a, ofA) =>
    ZONES.flatMap((b, ofB) => {
      const near = (own: number, other: number) =>
        all.filter((i) => zone[i] === own && all.some((j) => zone[j] === other && apart(i, j) <= 9));
      const atA = near(ofA, ofB);
      return ofA < ofB && atA.length > 0 ? [{ zones: [a, b], roots: [atA, near(ofB, ofA)] }] : [];
    }),
  );
}

const plain = (roots: PlacedRoots) =>
  bordersOf(roots).map(({ zones, roots: [a, b] }) => ({ zones, roots: [[...a], [...b]] }));

describe('bordersOf', () => {
  it('finds what looking at every pair finds, in the order of the zones and of the roots', () => {
    fc.assert(
      fc.property(rootsAnywhere, (anywhere) => {
        const roots = place(anywhere);
        expect(plain(roots)).toEqual(everyPair(roots));
      }),
      { numRuns: 60 },
    );
  });

  it.each([0, 1, 2])('reaches 9 mm along axis %d, either way, and no farther', (axis) => {
    for (const apartMm of [9, -9, 9.001, -9.001]) {
      const at = [0, 0, 0];
      at[axis] = apartMm;
      const found = plain(
        place([
          { zone: 5, at },
          { zone: 2, at: [0, 0, 0] },
        ]),
      );
      expect(found).toEqual(Math.abs(apartMm) > 9 ? [] : [{ zones: ['crown', 'back'], roots: [[1], [0]] }]);
    }
  });

  it('looks for them once a head', () => {
    const roots = place([
      { zone: 0, at: [0, 0, 0] },
      { zone: 1, at: [1, 0, 0] },
    ]);
    expect(bordersOf(roots)).toBe(bordersOf(roots));
  });
});
