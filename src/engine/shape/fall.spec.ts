import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { buildHead, type Head, type HeadOptions, sphereSurface } from '../head/index.js';
import { arcToPlane, buildFallTable, pointAlong } from './fall.js';

const head = buildHead({ rootCount: 400 });

const table = buildFallTable(head);
const out = new Float64Array(3);

/** A ball of radius R with roots on one meridian at the given heights in degrees above the equator. */
function ball(R: number, degrees: readonly number[]): Pick<Head, 'surface' | 'roots' | 'comb'> {
  const position = degrees.flatMap((d) => {
    const t = (d * Math.PI) / 180;
    return [R * Math.cos(t), 0, R * Math.sin(t)];
  });
  return {
    surface: sphereSurface(R),
    comb: { ...head.comb, partingXMm: 0 },
    roots: {
      count: degrees.length,
      position: Float64Array.from(position),
      normal: Float64Array.from(position, (mm) => mm / R),
      areaMm2: new Float64Array(degrees.length).fill(1),
      zone: new Uint8Array(degrees.length),
    },
  };
}

describe('fall lines on a ball (closed form: the arc R t to the equator, then straight down)', () => {
  const R = 90;
  const degrees = [-30, 0, 5, 14, 40, 80];
  const fall = buildFallTable(ball(R, degrees));

  it.each(degrees.map((d, i) => [d, i] as const))('from %d degrees', (d, i) => {
    const t = (d * Math.PI) / 180;
    const arc = Math.max(0, R * t);
    for (const s of [0, arc / 3, arc, arc + 50]) {
      pointAlong(fall, i, s, out);
      const left = t - Math.min(s, arc) / R;
      const x = R * Math.cos(left);
      const z = R * Math.sin(left) - Math.max(0, s - arc);
      // chords of 3 mm: each is shorter than its arc by s^3 / 24 R^2, its middle lower by s^2 / 8 R
      expect(Math.abs(out[0]! - x)).toBeLessThan(0.02);
      expect(Math.abs(out[1]!)).toBeLessThan(1e-4);
      expect(Math.abs(out[2]! - z)).toBeLessThan(0.02);
    }
  });

  it('meets a level where the closed form says', () => {
    // from 40 degrees to the level of 20 degrees: R * 20 degrees; to 50 below the equator: the whole arc and 50
    const level = (z0Mm: number): number => arcToPlane(fall, 4, { z0Mm, forward: 0, right: 0 });
    expect(level(R * Math.sin(Math.PI / 9))).toBeCloseTo((R * Math.PI) / 9, 1);
    expect(level(-50)).toBeCloseTo((R * 40 * Math.PI) / 180 + 50, 1);
    expect(level(R)).toBeCloseTo(R * Math.sin((40 * Math.PI) / 180) - R, 4);
  });
});

const options: fc.Arbitrary<HeadOptions> = fc.record({
  circumferenceMm: fc.double({ min: 480, max: 640, noNaN: true }),
  partingSide: fc.constantFrom('left', 'right', 'middle', 'none'),
  whorlSide: fc.constantFrom('left', 'right', 'middle'),
  rootCount: fc.constant(300),
});

describe('fall lines on the head', () => {
  it('never run inside the head, whatever the parting, the whorl and the size', () => {
    fc.assert(
      fc.property(options, (chosen) => {
        const any = buildHead(chosen);
        const fall = buildFallTable(any);
        let deepest = 0;
        for (let i = 0; i < fall.count; i++) {
          for (let s = 0; s < 380; s += 4.7) {
            pointAlong(fall, i, s, out);
            deepest = Math.min(deepest, any.surface.clearanceMm(out[0]!, out[1]!, out[2]!));
          }
        }
        // a chord of 3 mm lies at most 9 / (8 * 60) = 0.02 mm below its arc
        expect(deepest).toBeGreaterThan(-0.025);
      }),
      { numRuns: 12 },
    );
  });

  it('start at the root and never move faster than the hair is long', () => {
    const next = new Float64Array(3);
    let farthest = 0;
    let slowest = 2;
    let fastest = 2;
    for (let i = 0; i < table.count; i++) {
      pointAlong(table, i, 0, out);
      const [x, y, z] = head.roots.position.subarray(3 * i, 3 * i + 3);
      farthest = Math.max(farthest, Math.hypot(out[0]! - x!, out[1]! - y!, out[2]! - z!));
      for (let s = 0; s < 250; s += 11) {
        pointAlong(table, i, s, out);
        pointAlong(table, i, s + 2, next);
        const moved = Math.hypot(next[0]! - out[0]!, next[1]! - out[1]!, next[2]! - out[2]!);
        slowest = Math.min(slowest, moved);
        fastest = Math.max(fastest, moved);
      }
    }
    expect(farthest).toBeLessThan(1e-4);
    expect(fastest).toBeLessThan(2.0001);
    expect(slowest).toBeGreaterThan(1.9);
  });

  it('hang straight down from a root below the equator and from the equator on', () => {
    for (let i = 0; i < table.count; i++) {
      const whole = table.arcMm[table.start[i + 1]! - 1]!;
      if (head.roots.position[3 * i + 2]! <= 0) expect(whole).toBe(0);
      pointAlong(table, i, whole, out);
      const [x, y, z] = out;
      expect(z).toBeLessThan(1e-4);
      pointAlong(table, i, whole + 80, out);
      expect([out[0], out[1]]).toEqual([x, y]);
      expect(out[2]).toBeCloseTo(z! - 80, 4);
    }
  });

  it('lead the fringe forward, the sides of a middle parting apart and the back backwards', () => {
    for (let i = 0; i < table.count; i++) {
      const x = head.roots.position[3 * i]!;
      const y = head.roots.position[3 * i + 1]!;
      const z = head.roots.position[3 * i + 2]!;
      pointAlong(table, i, 40, out);
      if (y > 62 && z > 30 && Math.abs(x) < 30) expect(out[1]).toBeGreaterThan(y);
      if (Math.abs(y) < 25 && z > 0) expect(Math.abs(out[0]!)).toBeGreaterThan(Math.abs(x));
      if (y < -66 && z > 0) expect(out[1]).toBeLessThan(y);
    }
  });

  it('are mirror images with the whorl and the parting in the middle', () => {
    const mirrored = new Float64Array(3);
    let apart = 0;
    for (let i = 0; i < table.count; i += 2) {
      for (const s of [10, 60, 170]) {
        pointAlong(table, i, s, out);
        pointAlong(table, i + 1, s, mirrored);
        apart = Math.max(
          apart,
          Math.hypot(mirrored[0]! + out[0]!, mirrored[1]! - out[1]!, mirrored[2]! - out[2]!),
        );
      }
    }
    expect(apart).toBeLessThan(5e-4);
  });

  it('put a side parting where it is worn', () => {
    const left = buildHead({ partingSide: 'left', rootCount: 1500 });
    const fall = buildFallTable(left);
    let seen = 0;
    for (let i = 0; i < fall.count; i++) {
      const x = left.roots.position[3 * i]!;
      const y = left.roots.position[3 * i + 1]!;
      if (Math.abs(y - 10) > 15 || left.roots.position[3 * i + 2]! < 75) continue;
      pointAlong(fall, i, 200, out);
      expect(Math.sign(out[0]!)).toBe(x < -31 ? -1 : 1);
      seen++;
    }
    expect(seen).toBeGreaterThan(20);
  });

  it('scale with the head', () => {
    const large = buildHead({ circumferenceMm: 616, rootCount: 400 });
    const fall = buildFallTable(large);
    expect(fall.points.length).toBe(table.points.length);
    for (let p = 0; p < table.points.length; p += 37) {
      expect(fall.points[p]).toBeCloseTo(table.points[p]! * 1.1, 3);
    }
  });

  it('meet a sloping cutting line exactly on it', () => {
    const plane = { z0Mm: -40, forward: -0.3, right: 0.1 };
    for (let i = 0; i < table.count; i++) {
      const s = arcToPlane(table, i, plane);
      if (s < 0) continue;
      pointAlong(table, i, s, out);
      expect(out[2]! - plane.z0Mm - plane.forward * out[1]! - plane.right * out[0]!).toBeCloseTo(0, 3);
    }
  });
});
