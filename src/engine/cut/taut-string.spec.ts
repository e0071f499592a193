import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { ellipseArc } from '../head/index.js';
import { tautString } from './taut-string.js';

type Triple = readonly [number, number, number];

const times = (k: number, v: Triple): Triple => [k * v[0], k * v[1], k * v[2]];
/** A direction by two angles, and one at `angle` from it, turned by `turn` about it. */
const pair = (polar: number, round: number, angle: number, turn: number): [Triple, Triple] => {
  const u: Triple = [Math.sin(polar) * Math.cos(round), Math.sin(polar) * Math.sin(round), Math.cos(polar)];
  const e: Triple = [Math.cos(polar) * Math.cos(round), Math.cos(polar) * Math.sin(round), -Math.sin(polar)];
  const f: Triple = [-Math.sin(round), Math.cos(round), 0];
  const at = (k: 0 | 1 | 2): number =>
    Math.cos(angle) * u[k] + Math.sin(angle) * (Math.cos(turn) * e[k] + Math.sin(turn) * f[k]);
  return [u, [at(0), at(1), at(2)]];
};

describe('a taut string round a ball of 80 (closed form)', () => {
  const R = 80;
  // Ends D and d from the centre, an angle t apart: the chord while t <= acos(R / D) + acos(R / d), else both tangents
  // and the arc between them.
  const closed = (D: number, d: number, t: number): number => {
    const leave = Math.acos(R / D);
    const land = Math.acos(R / d);
    return t <= leave + land
      ? // Of two places that are all but one, rounding may leave less than nothing.
        Math.sqrt(Math.max(0, D * D + d * d - 2 * D * d * Math.cos(t)))
      : Math.sqrt(D * D - R * R) + R * (t - leave - land) + Math.sqrt(d * d - R * R);
  };
  const angle = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });

  it('between any two places outside', () => {
    fc.assert(
      fc.property(
        angle(80, 400),
        angle(80, 130),
        angle(0, 3.1),
        angle(0, 3),
        angle(-3, 3),
        angle(-3, 3),
        (D, d, t, polar, round, turn) => {
          const [u, w] = pair(polar, round, t, turn);
          const ours = tautString(R, R, R, ...times(d, w), ...times(D, u));
          // An arc cosine near 0 keeps but half the digits.
          expect(Math.abs(ours - closed(D, d, t))).toBeLessThan(1e-4);
          expect(Math.abs(tautString(R, R, R, ...times(D, u), ...times(d, w)) - ours)).toBeLessThan(1e-4);
        },
      ),
    );
  });

  it.each<[string, Triple]>([
    ['before the head', [0, 1, 0]],
    ['at the right', [1, 0, 0]],
    ['at the left', [-1, 0, 0]],
    ['above', [0, 0, 1]],
    ['aslant', [0.48, 0.6, 0.64]],
    ['aslant to the right', [0.92, 0.28, Math.sqrt(1 - 0.92 ** 2 - 0.28 ** 2)]],
  ])('to a place %s from straight behind the ball, where every way round is as short', (_what, u) => {
    expect(tautString(R, R, R, ...times(-R, u), ...times(180, u))).toBeCloseTo(closed(180, R, Math.PI), 6);
    expect(tautString(R, R, R, ...times(-100, u), ...times(180, u))).toBeCloseTo(
      closed(180, 100, Math.PI),
      6,
    );
  });

  it('from the skin to a place on the skin or at it', () => {
    const [u, w] = pair(1, 2, 0.7, 0.3);
    expect(tautString(R, R, R, ...times(R, w), ...times(R, u))).toBeCloseTo(56, 6);
    expect(tautString(R, R, R, ...times(R, u), ...times(R, u))).toBeCloseTo(0, 6);
    expect(tautString(R, R, R, ...times(R, u), ...times(R + 30, u))).toBeCloseTo(30, 9);
  });

  it('from a root under the skin of the ellipsoid lands on it without a tangent', () => {
    // On the neck roots lie inside the cranium's ellipsoid. The arc ends over the root; the root's depth is left out.
    const [u, w] = pair(0.4, 1, 2, 1);
    expect(tautString(R, R, R, ...times(R - 2, w), ...times(190, u))).toBeCloseTo(closed(190, R, 2), 9);
  });
});

describe('a taut string round an ellipsoid', () => {
  const [a, b, c] = [75, 95, 90];
  /** In a plane of symmetry: tangent, arc of the ellipse (p sin t, q cos t) and tangent, or the chord. */
  const inPlane = (p: number, q: number, t0: number, far: number, t1: number, near: number): number => {
    // Stretched to a circle, tangents touch acos(1 / distance) on from either end.
    const leave = t0 + Math.acos(1 / far);
    const land = t1 - Math.acos(1 / near);
    const on = (k: number, t: number): [number, number] => [k * p * Math.sin(t), k * q * Math.cos(t)];
    const between = (v: [number, number], w: [number, number]): number =>
      Math.hypot(v[0] - w[0], v[1] - w[1]);
    if (land <= leave) return between(on(far, t0), on(near, t1));
    return (
      between(on(far, t0), on(1, leave)) + ellipseArc(p, q, leave, land) + between(on(1, land), on(near, t1))
    );
  };

  it.each<[string, number, number, (x: number, y: number) => Triple]>([
    ['across the head', a, c, (x, z) => [x, 0, z]],
    ['along it', b, c, (y, z) => [0, y, z]],
    ['round it', a, b, (x, y) => [x, y, 0]],
  ])('%s, in a plane of symmetry', (_what, p, q, place) => {
    for (const [t0, far, t1, near] of [
      [0.1, 1.6, 0.8, 1],
      [0.1, 1.6, 2.3, 1],
      [-0.5, 2.2, 2.4, 1],
      [0.3, 1.2, 3.1, 1.1],
      [0, 1, 1.5, 1],
    ] as const) {
      const end = place(far * p * Math.sin(t0), far * q * Math.cos(t0));
      const root = place(near * p * Math.sin(t1), near * q * Math.cos(t1));
      expect(tautString(a, b, c, ...root, ...end)).toBeCloseTo(inPlane(p, q, t0, far, t1, near), 6);
    }
  });

  it.each<[string, Triple, number]>([
    // With no way round distinguished the plane of the x axis is taken, or, for a string along x, that of y.
    ['above', [0, 0, 1], inPlane(a, c, 0, 2, Math.PI, 1)],
    ['before', [0, 1, 0], inPlane(a, b, 0, 2, Math.PI, 1)],
    ['at the right', [1, 0, 0], inPlane(b, a, 0, 2, Math.PI, 1)],
  ])('from straight behind the head to a place %s', (_what, u, mm) => {
    const skin: Triple = [a * u[0], b * u[1], c * u[2]];
    expect(tautString(a, b, c, ...times(-1, skin), ...times(2, skin))).toBeCloseTo(mm, 5);
  });

  it('is the same whatever the axes are called and scales with the head', () => {
    const direction = fc.tuple(
      fc.double({ min: 0.2, max: 2.9, noNaN: true }),
      fc.double({ min: -3, max: 3, noNaN: true }),
    );
    fc.assert(
      fc.property(
        direction,
        direction,
        fc.double({ min: 1, max: 2.5, noNaN: true }),
        (first, second, far) => {
          const on = ([polar, round]: [number, number], k: number): Triple => [
            k * a * Math.sin(polar) * Math.cos(round),
            k * b * Math.sin(polar) * Math.sin(round),
            k * c * Math.cos(polar),
          ];
          const [x, y, z] = on(first, 1);
          const [X, Y, Z] = on(second, far);
          const mm = tautString(a, b, c, x, y, z, X, Y, Z);
          expect(tautString(b, c, a, y, z, x, Y, Z, X)).toBeCloseTo(mm, 6);
          expect(tautString(c, a, b, z, x, y, Z, X, Y)).toBeCloseTo(mm, 6);
          expect(tautString(a, b, c, -x, y, -z, -X, Y, -Z)).toBeCloseTo(mm, 6);
          expect(tautString(2 * a, 2 * b, 2 * c, 2 * x, 2 * y, 2 * z, 2 * X, 2 * Y, 2 * Z)).toBeCloseTo(
            2 * mm,
            6,
          );
          // Never shorter than the chord, nor than the way round a ball inside the head.
          const chord = Math.hypot(x - X, y - Y, z - Z);
          expect(mm).toBeGreaterThan(chord - 1e-9);
          expect(mm).toBeLessThan(3.5 * chord + 1e-9);
        },
      ),
    );
  });
});
