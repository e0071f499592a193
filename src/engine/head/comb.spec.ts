import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { type CombPattern, fallDirection, stepAlongFall } from './comb.js';
import { buildHead, sphereSurface, type Vec3 } from './index.js';

type Triple = readonly [number, number, number];

const DEGREE = Math.PI / 180;
const R = 100;
const ball = sphereSurface(R);
const WHORL: Triple = [0, -60, 80];

const pattern = (partingXMm?: number, scale = 1, whorl: Triple = WHORL): CombPattern => ({
  whorl: { x: whorl[0], y: whorl[1], z: whorl[2] },
  partingXMm,
  scale,
});
const unit = (v: Triple): Triple => {
  const m = Math.hypot(...v);
  return [v[0] / m, v[1] / m, v[2] / m];
};
const plus = (v: Triple, w: Triple, times = 1): Triple => [
  v[0] + times * w[0],
  v[1] + times * w[1],
  v[2] + times * w[2],
];
/** `v` laid flat on the ball at `p`, of length 1. */
const flat = (v: Triple, p: Triple): Triple => {
  const n = unit(p);
  return unit(plus(v, n, -(v[0] * n[0] + v[1] * n[1] + v[2] * n[2])));
};
/** The point of the ball with this x and y, on its upper half. */
const above = (x: number, y: number): Triple => [x, y, Math.sqrt(R * R - x * x - y * y)];
const lies = (at: Triple, how: CombPattern, combed?: boolean): Triple => {
  const out: Vec3 = new Float64Array(3);
  fallDirection(ball, how, ...at, out, combed);
  return [out[0]!, out[1]!, out[2]!];
};
const expectClose = (found: Triple, wanted: Triple, digits = 12): void => {
  for (let k = 0; k < 3; k++) expect(found[k]).toBeCloseTo(wanted[k]!, digits);
};

// smoothstep(t) = t^2 (3 - 2 t): 5/32 at a quarter, 1/2 at a half.
const QUARTER = 5 / 32;

describe('the way hair lies, high on a ball where only the comb counts', () => {
  const away = (p: Triple, whorl = WHORL): Triple => unit(plus(p, whorl, -1));
  const BESIDE: Triple = [28, -60, Math.sqrt(R * R - 28 ** 2 - 60 ** 2)];
  const RIGHT: Triple = [1, 0, 0];
  const LEFT: Triple = [-1, 0, 0];
  const FORWARD: Triple = [0, 1, 0];
  const mixed = (v: Triple, part: number, w: Triple): Triple =>
    plus([0, 0, 0], plus(v, w, part / (1 - part)));

  it.each<[string, Triple, CombPattern, Triple]>([
    ['fringe: forward', above(10, 60), pattern(0), FORWARD],
    ['fringe, without a parting too', above(10, 60), pattern(), FORWARD],
    ['halfway to the fringe', above(5, 45), pattern(0), [1, 1, 0]],
    ['halfway, left of the parting', above(-5, 45), pattern(0), [-1, 1, 0]],
    ['a quarter of the way', above(5, 37.5), pattern(0), [1 - QUARTER, QUARTER, 0]],
    ['a quarter of the way on a head of half the size', above(5, 18.75), pattern(0, 0.5), [27, 5, 0]],
    // On the smaller head the fringe begins at y = 30; it ends between 30 and 46 degrees.
    ['at 29.9 degrees', above(30 * Math.tan(29.9 * DEGREE), 30), pattern(0, 0.5), FORWARD],
    ['at 34 degrees', above(30 * Math.tan(34 * DEGREE), 30), pattern(0, 0.5), [5, 27, 0]],
    ['at 38 degrees', above(30 * Math.tan(38 * DEGREE), 30), pattern(0, 0.5), [1, 1, 0]],
    ['at 38 degrees, left', above(-30 * Math.tan(38 * DEGREE), 30), pattern(0, 0.5), [-1, 1, 0]],
    ['at 46.1 degrees', above(30 * Math.tan(46.1 * DEGREE), 30), pattern(0, 0.5), RIGHT],
    ['top, right of the parting', above(20, 15), pattern(0), RIGHT],
    ['top, left of the parting', above(-20, 15), pattern(0), LEFT],
    ['top, left of a parting on the right', above(20, 15), pattern(31), LEFT],
    ['top, on the parting: to the right', above(31, 15), pattern(31), RIGHT],
    ['top, right of a parting on the left', above(-20, 15), pattern(-31), RIGHT],
    ['at the apex', [0, 0, R], pattern(0), RIGHT],
    ['crown: away from the whorl', above(10, -45), pattern(0), away(above(10, -45))],
    ['crown, behind the whorl', above(-8, -65), pattern(0), away(above(-8, -65))],
    ['away from a whorl at the side', above(10, -50), pattern(0, 1, BESIDE), away(above(10, -50), BESIDE)],
    ['halfway to the crown', above(20, -22.5), pattern(0), mixed(away(above(20, -22.5)), 1 / 2, RIGHT)],
    [
      'a quarter of the way from the crown',
      above(20, -33.75),
      pattern(0),
      mixed(away(above(20, -33.75)), QUARTER, RIGHT),
    ],
    [
      'halfway to the crown of a head of twice the size',
      above(20, -45),
      pattern(0, 2),
      mixed(away(above(20, -45)), 1 / 2, RIGHT),
    ],
    ['top without a parting: away from the whorl', above(20, 15), pattern(), away(above(20, 15))],
    [
      'halfway to the fringe without a parting',
      above(5, 45),
      pattern(),
      mixed(away(above(5, 45)), 1 / 2, FORWARD),
    ],
  ])('%s', (_what, at, how, way) => {
    expect(at[2]).toBeGreaterThanOrEqual(0.75 * R);
    expectClose(lies(at, how), flat(way, at));
  });
});

describe('the way hair lies further down', () => {
  const DOWN: Triple = [0, 0, -1];
  /** A point 60 degrees from the front whose normal leads up by `nz`, on the part of the head that is parted. */
  const side = (nz: number): Triple => {
    const level = 50 * Math.sqrt(1 - nz * nz);
    return [level * Math.sin(60 * DEGREE), level * Math.cos(60 * DEGREE), 50 * nz];
  };
  const small = sphereSurface(50);

  it.each([
    ['below the ridge straight down', 0.25, 0],
    ['a quarter of the way up', 0.375, QUARTER],
    ['halfway', 0.5, 0.5],
    ['three quarters', 0.625, 27 / 32],
    ['from n_z = 0.75 up as it is combed', 0.75, 1],
    ['at the equator', 0, 0],
    ['under the equator', -0.4, 0],
  ])('%s (n_z = %d): the comb has weight %d', (_what, nz, weight) => {
    const at = side(nz);
    const out: Vec3 = new Float64Array(3);
    fallDirection(small, pattern(0), ...at, out);
    const blend = plus(plus([0, 0, 0], flat(DOWN, at), 1 - weight), flat([1, 0, 0], at), weight);
    expectClose([out[0]!, out[1]!, out[2]!], unit(blend));
  });

  it('is straight downhill everywhere when it is not combed', () => {
    for (const at of [above(20, 15), above(10, 60), above(-8, -65), above(70, 40)]) {
      expectClose(lies(at, pattern(0), false), flat(DOWN, at));
    }
    // On the very top no way leads down: forward.
    expectClose(lies([0, 0, R], pattern(0), false), [0, 1, 0]);
  });

  it('on the whorl itself, from where no way leads away, is straight downhill', () => {
    expectClose(lies(WHORL, pattern(0)), [0, -0.8, -0.6]);
  });

  it('is straight downhill where the comb leads uphill just as strongly', () => {
    // n_z = 1/2 gives both half the weight; the whorl lies below on the same meridian.
    const at: Triple = [0, -R * Math.cos(30 * DEGREE), R * 0.5];
    const low = pattern(0, 1, [0, -R * Math.cos(10 * DEGREE), R * Math.sin(10 * DEGREE)]);
    expectClose(lies(at, low), [0, -0.5, -Math.cos(30 * DEGREE)], 9);
  });

  it('is of length 1 and flat on any head, and mirrored where the head is', () => {
    const { surface, comb } = buildHead({ rootCount: 200 });
    const out: Vec3 = new Float64Array(3);
    const normal: Vec3 = new Float64Array(3);
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 179, noNaN: true }),
        fc.double({ min: -100, max: 89, noNaN: true }),
        (az, z) => {
          const r = surface.radiusAt(az * DEGREE, z);
          const [x, y] = [r * Math.sin(az * DEGREE), r * Math.cos(az * DEGREE)];
          fallDirection(surface, comb, x, y, z, out);
          surface.normal(x, y, z, normal);
          expect(Math.hypot(...out)).toBeCloseTo(1, 12);
          expect(out[0]! * normal[0]! + out[1]! * normal[1]! + out[2]! * normal[2]!).toBeCloseTo(0, 9);
          const [dx, dy, dz] = out;
          fallDirection(surface, comb, -x, y, z, out);
          expectClose([out[0]!, out[1]!, out[2]!], [-dx!, dy!, dz!], 9);
        },
      ),
    );
  });
});

describe('a step along the fall on a ball', () => {
  const meridian = (fromTop: number): Triple => [
    R * Math.sin(fromTop) * Math.sin(2),
    R * Math.sin(fromTop) * Math.cos(2),
    R * Math.cos(fromTop),
  ];

  it.each([
    [40, 3],
    [40, 20],
    [85, 12],
    [120, 15],
    [40, -3],
    [70, -20],
  ])('from %d degrees off the top, %d mm long', (degrees, stepMm) => {
    const at = Float64Array.from(meridian(degrees * DEGREE));
    stepAlongFall(ball, pattern(0), at, stepMm, false);
    // The heading is that of the midpoint, which lies atan(s / 2R) further on; in the frame of the starting point it
    // leads cos along the skin and sin into the ball.
    const half = Math.atan(stepMm / 2 / R);
    const turned = Math.atan((stepMm * Math.cos(half)) / (R - stepMm * Math.sin(half)));
    expectClose([at[0]!, at[1]!, at[2]!], meridian(degrees * DEGREE + turned), 9);
    // Second order: the arc is the step's length but for s^3 / 24 R^2 and the like.
    expect(Math.abs(R * turned - stepMm)).toBeLessThan(Math.abs(stepMm) ** 3 / (8 * R * R));
  });

  it('goes by the comb unless told otherwise', () => {
    const start = above(20, 15);
    const combed = Float64Array.from(start);
    stepAlongFall(ball, pattern(0), combed, 3);
    const down = Float64Array.from(start);
    stepAlongFall(ball, pattern(0), down, 3, false);
    // Parted hair leaves straight to the right, uncombed hair away from the apex.
    expect(combed[1]! / combed[2]!).toBeCloseTo(start[1] / start[2], 4);
    expect(down[1]! / down[0]!).toBeCloseTo(start[1] / start[0], 9);
    expect(combed[0]! - start[0]).toBeCloseTo(3 * flat([1, 0, 0], start)[0], 1);
  });

  it('there and back again ends where it began, to the third order', () => {
    const at = Float64Array.from(above(30, 40));
    stepAlongFall(ball, pattern(0), at, 2);
    stepAlongFall(ball, pattern(0), at, -2);
    expectClose([at[0]!, at[1]!, at[2]!], above(30, 40), 1);
  });
});
