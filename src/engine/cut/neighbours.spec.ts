import { describe, expect, it } from '@jest/globals';
import { buildHead, ellipseArc, type Head, sphereSurface } from '../head/index.js';
import { ZONES } from '../zones.js';
import { neighboursOf } from './neighbours.js';

const DEGREE = Math.PI / 180;
const COUNT = ZONES.length;
const mm = (head: Head, i: number, j: number): number => {
  const p = head.roots.position;
  return Math.hypot(p[3 * i]! - p[3 * j]!, p[3 * i + 1]! - p[3 * j + 1]!, p[3 * i + 2]! - p[3 * j + 2]!);
};
/** A head with the given roots only. */
const withRoots = (base: Head, places: readonly (readonly [number, number, number, number])[]): Head => ({
  ...base,
  roots: {
    count: places.length,
    position: Float64Array.from(places.flatMap((place) => place.slice(0, 3))),
    normal: new Float64Array(3 * places.length),
    areaMm2: new Float64Array(places.length).fill(9),
    zone: Uint8Array.from(places.map(([, , , zone]) => zone)),
  },
});

const base = buildHead({ rootCount: 200 });

describe('neighbours', () => {
  it.each([1, 1.1])(
    'are the nearest of every other zone within 45 mm of the mean head, here %d of it',
    (scale) => {
      // Every eighth root of a head: some zones lie close, some too far off.
      const whole = buildHead({ rootCount: 300, circumferenceMm: 560 * scale });
      const { position: p, zone: zones } = whole.roots;
      const places = [...zones.keys()]
        .filter((i) => i % 8 === 0)
        .map((i) => [p[3 * i]!, p[3 * i + 1]!, p[3 * i + 2]!, zones[i]!] as const);
      const head = withRoots(whole, places);
      const found = neighboursOf(head);
      let near = 0;
      for (let i = 0; i < places.length; i++) {
        for (let zone = 0; zone < COUNT; zone++) {
          const among = [...places.keys()].filter((j) => places[j]![3] === zone);
          const least = Math.min(...among.map((j) => mm(head, i, j)));
          const at = i * COUNT + zone;
          if (zone === places[i]![3] || least >= 45 * scale) {
            expect(found.nearest[at]).toBe(-1);
            expect(found.distanceMm[at]).toBe(Number.POSITIVE_INFINITY);
          } else {
            near++;
            expect(found.distanceMm[at]).toBeCloseTo(least, 9);
            expect(mm(head, i, found.nearest[at]!)).toBeCloseTo(least, 9);
            expect(places[found.nearest[at]!]![3]).toBe(zone);
          }
        }
      }
      expect(near).toBeGreaterThan(30);
      expect(found.nearest).toHaveLength(COUNT * places.length);
    },
  );

  it('end at 45 mm, in height as well as in plan', () => {
    for (const [x, y, z] of [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
      [0.6, 0, 0.8],
    ] as const) {
      const nearest = (d: number): Int32Array =>
        neighboursOf(
          withRoots(base, [
            [0, 0, 0, 0],
            [d * x, d * y, d * z, 1],
          ]),
        ).nearest;
      // Each is the other's.
      expect(nearest(44.99)[1]).toBe(1);
      expect(nearest(44.99)[COUNT]).toBe(0);
      expect(nearest(45.01)[1]).toBe(-1);
      expect(nearest(45.01)[COUNT]).toBe(-1);
    }
  });

  it('lists the roots of each zone in order, every root once', () => {
    const head = buildHead({ rootCount: 300 });
    const { ofZone } = neighboursOf(head);
    expect(ofZone).toHaveLength(COUNT);
    ofZone.forEach((roots, zone) => {
      expect([...roots]).toEqual([...head.roots.zone.keys()].filter((i) => head.roots.zone[i] === zone));
    });
  });

  it('take the spacing from the area a root stands for', () => {
    // 9 mm2 each: 3 mm apart.
    const few = withRoots(base, [
      [0, 0, 90, 0],
      [0, 10, 89, 1],
      [0, -10, 89, 1],
    ]);
    expect(neighboursOf(few).spacingMm).toBeCloseTo(3, 12);
  });
});

describe('the way round from the midline of the back', () => {
  it('on a ball is the arc of the equator', () => {
    const ball = { ...withRoots(base, [[0, 0, 90, 1]]), surface: sphereSurface(90) };
    const { sideMmAt } = neighboursOf(ball);
    for (const az of [0, 0.3, 17, 90, 90.25, 133.4, 179.8, 180]) {
      for (const side of [1, -1]) {
        expect(sideMmAt(side * Math.sin(az * DEGREE), Math.cos(az * DEGREE))).toBeCloseTo(
          90 * (180 - az) * DEGREE,
          9,
        );
      }
    }
  });

  it('on the head is the arc of its ellipse', () => {
    const head = buildHead({ rootCount: 200 });
    const { sideMmAt, sideMm } = neighboursOf(head);
    const half = ellipseArc(75, 95, 0, Math.PI);
    expect(sideMmAt(0, -3)).toBeCloseTo(0, 12);
    expect(sideMmAt(0, 3)).toBeCloseTo(half, 9);
    expect(sideMmAt(2, 0)).toBeCloseTo(half / 2, 9);
    expect(sideMmAt(-2, 0)).toBeCloseTo(half / 2, 9);
    // The point of the ellipse at the parameter t from the back, in any distance from the axis.
    for (const t of [0.2, 0.9, 1.4, 2.2, 3]) {
      expect(
        Math.abs(sideMmAt(7.5 * Math.sin(t), -9.5 * Math.cos(t)) - ellipseArc(75, 95, 0, t)),
      ).toBeLessThan(0.002);
    }
    const p = head.roots.position;
    expect(sideMm).toHaveLength(head.roots.count);
    expect([...sideMm]).toEqual([...sideMm.keys()].map((i) => sideMmAt(p[3 * i]!, p[3 * i + 1]!)));
  });
});

describe('the closest three roots', () => {
  const shares = (...d2: number[]): number[] => {
    // by inverse squared distance, a hundredth of a mm2 added so that none is infinite
    const weights = d2.map((d) => 1 / (d + 0.01));
    return weights.map((w) => w / weights.reduce((sum, one) => sum + one, 0));
  };

  it('of a zone, nearest first, with shares by inverse squared distance', () => {
    const places: (readonly [number, number, number, number])[] = [
      [0, 0, 9, 2],
      [0, 0, 0.5, 1],
      [3, 0, 0, 2],
      [0, -2, 0, 2],
      [0, 0, 1, 2],
      [-4, 0, 0, 2],
      [2, 2, 2, 2],
    ];
    for (const order of [places, [...places].reverse()]) {
      const { closest } = neighboursOf(withRoots(base, order));
      const found = closest(Float64Array.of(0, 0, 0), 2);
      expect(found.roots.map((j) => order[j]!.slice(0, 3))).toEqual([
        [0, 0, 1],
        [0, -2, 0],
        [3, 0, 0],
      ]);
      shares(1, 4, 9).forEach((share, k) => {
        expect(found.share[k]).toBeCloseTo(share, 12);
      });
    }
    // Seen from elsewhere: (2, 2, 2) at 1, (3, 0, 0) at 1 + 4 + 9, (0, 0, 1) at 4 + 4 + 4.
    const found = neighboursOf(withRoots(base, places)).closest(Float64Array.of(2, 2, 3), 2);
    expect(found.roots).toEqual([6, 4, 2]);
    shares(1, 12, 14).forEach((share, k) => {
      expect(found.share[k]).toBeCloseTo(share, 12);
    });
  });

  it('agree with sorting all of them', () => {
    const { closest } = neighboursOf(base);
    const p = base.roots.position;
    for (const point of [Float64Array.of(0, -90, 10), Float64Array.of(40, 30, 70)]) {
      for (let zone = 0; zone < COUNT; zone++) {
        const d = (j: number): number =>
          (p[3 * j]! - point[0]!) ** 2 + (p[3 * j + 1]! - point[1]!) ** 2 + (p[3 * j + 2]! - point[2]!) ** 2;
        const sorted = [...base.roots.zone.keys()]
          .filter((j) => base.roots.zone[j] === zone)
          .sort((i, j) => d(i) - d(j));
        const found = closest(point, zone);
        expect(found.roots.map(d)).toEqual(sorted.slice(0, 3).map(d));
        expect(found.share.reduce((sum, one) => sum + one, 0)).toBeCloseTo(1, 12);
      }
    }
  });

  it('are fewer where a zone has fewer', () => {
    const { closest } = neighboursOf(
      withRoots(base, [
        [0, 2, 0, 4],
        [9, 9, 9, 0],
        [1, 0, 0, 4],
        [0, 0, 2, 3],
      ]),
    );
    const point = Float64Array.of(0, 0, 0);
    // The nearest stands in for the third.
    const two = closest(point, 4);
    expect(two.roots).toEqual([2, 0, 2]);
    expect(two.share).toEqual([...shares(1, 4), 0]);
    expect(closest(point, 3)).toEqual({ roots: [3, 3, 3], share: [1, 0, 0] });
    expect(closest(Float64Array.of(0, 3, 0), 4).roots).toEqual([0, 2, 0]);
    expect(closest(point, 5)).toEqual({ roots: [-1, -1, -1], share: [0, 0, 0] });
  });
});
