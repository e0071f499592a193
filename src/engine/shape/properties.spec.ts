import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { buildHead } from '../head/index.js';
import { ZONES } from '../zones.js';
import { loopArea } from './draw/contour.js';
import { drawShape } from './draw/draw-shape.js';
import { buildFallTable } from './fall.js';
import { evenRates, growLengths } from './grow.js';
import { landmarkReadings } from './landmarks.js';
import { outlineFrom, silhouette } from './outline.js';
import { growShape, hairShape } from './tips.js';
import { VIEWS, type View } from './view.js';
import { weightLine, weightWindowOf } from './weight-line.js';

const ROOTS = 400;
const head = buildHead({ rootCount: ROOTS });
const fall = buildFallTable(head);
const { count, zone } = head.roots;

/** A length for every zone and a slope to the client's right: lopsided shapes from shaved to long. */
const shapes = fc.record({
  zones: fc.tuple(...ZONES.map(() => fc.double({ min: 0, max: 250, noNaN: true }))),
  slope: fc.double({ min: -0.5, max: 0.5, noNaN: true }),
});
type Wish = typeof shapes extends fc.Arbitrary<infer T> ? T : never;
const lengthsOf = ({ zones, slope }: Wish, { roots } = head) =>
  Float32Array.from(roots.zone, (zoneOf, i) => Math.max(0, zones[zoneOf]! + slope * roots.position[3 * i]!));
/** Roots 2k and 2k + 1 are mirror images: swapping them swaps left and right. */
const mirrored = (lengthsMm: Float32Array) => lengthsMm.map((_, i) => lengthsMm[i ^ 1]!);

describe('any shape', () => {
  it('mirrored, is drawn mirrored', () => {
    const loops = (lengthsMm: Float32Array, view: View) =>
      outlineFrom(silhouette(hairShape(head, fall, lengthsMm)), view).near;
    const covered = (near: ReturnType<typeof loops>) => near.reduce((sum, loop) => sum + loopArea(loop), 0);
    const share = (lengthsMm: Float32Array) =>
      weightWindowOf(hairShape(head, fall, lengthsMm), ZONES).share10;
    fc.assert(
      fc.property(shapes, (wish) => {
        const lengthsMm = lengthsOf(wish);
        fc.pre(lengthsMm.some((mm) => mm > 0));
        const near = loops(lengthsMm, 'right');
        const right = covered(near);
        const left = covered(loops(mirrored(lengthsMm), 'left'));
        // A loop is walked from another corner and so smoothed from another corner: a quarter of a 4 mm cell each.
        expect(Math.abs(left - right)).toBeLessThan(4 * Math.max(1, near.length) + 0.002 * right);
        expect(share(mirrored(lengthsMm))).toBeCloseTo(share(lengthsMm), 3);
      }),
      { numRuns: 25 },
    );
  });

  it('has no strand inside the head, neither as it falls nor as it is drawn', () => {
    fc.assert(
      fc.property(shapes, (wish) => {
        const lengthsMm = lengthsOf(wish);
        const shape = hairShape(head, fall, lengthsMm);
        const { seen } = silhouette(shape);
        let deepest = 0;
        for (let i = 0; i < count; i += 1) {
          const [x, y, z] = shape.tipsMm.subarray(3 * i, 3 * i + 3);
          deepest = Math.min(deepest, head.surface.clearanceMm(x!, y!, z!));
        }
        for (let k = 0; k < seen.x.length; k += 1) {
          deepest = Math.min(deepest, head.surface.clearanceMm(seen.x[k]!, seen.y[k]!, seen.z[k]!));
        }
        // Chords of 3 and 6 mm lie a hair's breadth under the surface.
        expect(deepest).toBeGreaterThan(-0.1);
      }),
      { numRuns: 25 },
    );
  });

  it('grows by exactly rate × days at every root, its tips moving on along the table', () => {
    fc.assert(
      fc.property(
        shapes,
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0, max: 400, noNaN: true }),
        (wish, rate, days) => {
          const lengthsMm = lengthsOf(wish);
          const grown = growShape(hairShape(head, fall, lengthsMm), evenRates(rate), days);
          expect(grown.lengthsMm).toEqual(lengthsMm.map((mm) => mm + rate * days));
          expect(grown.tipsMm).toEqual(
            hairShape(head, fall, growLengths(lengthsMm, zone, evenRates(rate), days)).tipsMm,
          );
        },
      ),
      { numRuns: 50 },
    );
  });

  it('is drawn the same every time, in no more than 25 KB, without a NaN', () => {
    const full = buildHead({ rootCount: 1200 });
    const fullFall = buildFallTable(full);
    fc.assert(
      fc.property(shapes, fc.constantFrom(...VIEWS), (wish, view) => {
        const lengthsMm = lengthsOf(wish, full);
        const draw = (on = fullFall) =>
          drawShape(silhouette(hairShape(full, on, lengthsMm)), view, {
            id: 'd',
            title: 'T',
            description: 'D',
          });
        const svg = draw();
        expect(draw(buildFallTable(full))).toBe(svg);
        expect(svg.length).toBeLessThanOrEqual(25 * 1024);
        expect(svg).not.toMatch(/NaN|Infinity|undefined|null/);
      }),
      { numRuns: 15 },
    );
  });

  it('scales with the head', () => {
    const times = 1.1;
    const large = buildHead({ rootCount: ROOTS, circumferenceMm: 560 * times });
    const largeFall = buildFallTable(large);
    fc.assert(
      fc.property(shapes, (wish) => {
        const lengthsMm = lengthsOf(wish);
        const small = hairShape(head, fall, lengthsMm).tipsMm;
        const { tipsMm } = hairShape(
          large,
          largeFall,
          lengthsMm.map((mm) => times * mm),
        );
        const apart = tipsMm.reduce((most, mm, i) => Math.max(most, Math.abs(mm - times * small[i]!)), 0);
        expect(apart).toBeLessThan(0.01);
      }),
      { numRuns: 25 },
    );
  });

  it('gives finite readings', () => {
    fc.assert(
      fc.property(shapes, (wish) => {
        const lengthsMm = lengthsOf(wish);
        for (const { aboveMm, growthMm } of landmarkReadings(hairShape(head, fall, lengthsMm))) {
          expect(Number.isFinite(aboveMm) && Number.isFinite(growthMm)).toBe(true);
        }
      }),
      { numRuns: 25 },
    );
  });
});

describe('no hair, and what is no hair', () => {
  it('draws a bald head', () => {
    const bald = silhouette(hairShape(head, fall, new Float32Array(count)));
    for (const view of VIEWS) {
      expect(outlineFrom(bald, view)).toEqual({ view, near: [], far: [] });
      expect(drawShape(bald, view, { id: 'd', title: 'T', description: 'D' })).not.toMatch(/NaN|Infinity/);
    }
    expect(weightLine(weightWindowOf(bald.shape))).toMatchObject({ kind: 'none', lineZMm: null });
    expect(landmarkReadings(bald.shape)).toEqual([]);
  });

  it.each([
    { lengthMm: Number.NaN, code: 'ENGINE.NOT_A_NUMBER' },
    { lengthMm: -1, code: 'ENGINE.OUT_OF_RANGE' },
    { lengthMm: Number.POSITIVE_INFINITY, code: 'ENGINE.OUT_OF_RANGE' },
  ])('refuses a length of $lengthMm and names the root', ({ lengthMm, code }) => {
    const lengths = new Float32Array(count).fill(50);
    lengths[7] = lengthMm;
    expect(() => hairShape(head, fall, lengths)).toThrow(
      expect.objectContaining({ code, field: 'lengthsMm[7]' }),
    );
  });

  it('refuses lengths of another head', () => {
    expect(() => hairShape(head, fall, new Float32Array(3))).toThrow(
      expect.objectContaining({ field: 'lengthsMm' }),
    );
  });
});
