import { describe, expect, it } from '@jest/globals';
import { buildHead, sphereSurface } from '../head/index.js';
import { arcToPlane, buildFallTable, type FallTable, pointAlong } from './fall.js';

/**
 * Two strands: one that hangs from (9, 9, -9), and one in steps of 5, 5 and 2.5 mm (3-4-5): forward and down 4, to the
 * right and down 3, forward and down 2.
 */
const table = (stepMm: number): FallTable => ({
  count: 2,
  start: Uint32Array.of(0, 1, 5),
  points: Float32Array.from([9, 9, -9, 0, 0, 9, 0, 3, 5, 4, 3, 2, 4, 4.5, 0]),
  arcMm: Float32Array.of(0, 0, 5, 10, 12.5),
  stepMm,
});
const along = (arcMm: number, stepMm = 5, root = 1) => {
  const out = new Float64Array(5).fill(-1);
  pointAlong(table(stepMm), root, arcMm, out, 1);
  expect([out[0], out[4]]).toEqual([-1, -1]);
  return [...out.subarray(1, 4)];
};
const close = (point: number[], wanted: number[]) => {
  wanted.forEach((value, axis) => {
    expect(point[axis]).toBeCloseTo(value, 6);
  });
};

describe('pointAlong', () => {
  // Whatever is guessed from the length of a step: right, too far, not far enough.
  it.each([5, 1, 100])('finds the point between its neighbours, steps taken for %d mm', (stepMm) => {
    close(along(0, stepMm), [0, 0, 9]);
    close(along(2.5, stepMm), [0, 1.5, 7]);
    close(along(5, stepMm), [0, 3, 5]);
    close(along(7, stepMm), [1.6, 3, 3.8]);
    close(along(11.25, stepMm), [4, 3.75, 1]);
    close(along(12.5, stepMm), [4, 4.5, 0]);
  });

  it('hangs straight down beyond the last point', () => {
    close(along(20), [4, 4.5, -7.5]);
    close(along(4, 5, 0), [9, 9, -13]);
    close(along(0, 5, 0), [9, 9, -9]);
  });

  it('writes to the beginning unless told where', () => {
    const out = new Float32Array(3);
    pointAlong(table(5), 1, 5, out);
    expect([...out]).toEqual([0, 3, 5]);
  });
});

describe('arcToPlane', () => {
  const to = (z0Mm: number, forward = 0, right = 0, root = 1) =>
    arcToPlane(table(5), root, { z0Mm, forward, right });

  it('is how far along a level is met', () => {
    // 1.25 mm for every 1 of height in the first and last step, 5 for 3 in the second.
    expect(to(4)).toBeCloseTo(5 + 5 / 3, 6);
    expect(to(8)).toBeCloseTo(1.25, 6);
    expect(to(5)).toBeCloseTo(5, 6);
    expect(to(1)).toBeCloseTo(11.25, 6);
    expect(to(0)).toBeCloseTo(12.5, 6);
  });

  it('goes on straight down from the last point', () => {
    expect(to(-20)).toBeCloseTo(32.5, 6);
    expect(to(-20, 0, 0, 0)).toBeCloseTo(11, 6);
  });

  it('is negative by how far the root lies below', () => {
    expect(to(12)).toBeCloseTo(-3, 6);
    expect(to(-5, 0, 0, 0)).toBeCloseTo(-4, 6);
    expect(to(9)).toBe(0);
  });

  it('meets a plane that rises forward or to the right', () => {
    // In the first step y = 0.6 s, z = 9 - 0.8 s: z = 5 + y / 2 at s = 4 / 1.1.
    expect(to(5, 0.5)).toBeCloseTo(4 / 1.1, 5);
    // In the second x = 0.8 t, y = 3, z = 5 - 0.6 t: z = 2 + y / 2 at t = 2.5, z = 1 + x at t = 4 / 1.4.
    expect(to(2, 0.5)).toBeCloseTo(7.5, 5);
    expect(to(1, 0, 1)).toBeCloseTo(5 + 4 / 1.4, 5);
    // Falling forward it is met on the way down: at -10 - 4.5 under y = 4.5.
    expect(to(-10, -1)).toBeCloseTo(12.5 + 14.5, 5);
    // The root at (9, 9) lies 9 under a plane through 0 that falls neither way, and as much above one 2 in 1 to the right.
    expect(to(0, 0, -2, 0)).toBeCloseTo(9, 6);
    expect(to(0, -2, 0, 0)).toBeCloseTo(9, 6);
  });
});

describe('buildFallTable', () => {
  const R = 90;
  const head = buildHead({ rootCount: 200 });
  /** Roots over the front of a ball, at so many degrees above the equator, parted so that all fall forward. */
  function ball(degrees: readonly number[], scale = 1) {
    const normal = degrees.flatMap((d) => [Math.cos((d * Math.PI) / 180), 0, Math.sin((d * Math.PI) / 180)]);
    return buildFallTable({
      surface: sphereSurface(R * scale),
      comb: { ...head.comb, partingXMm: 0, scale },
      roots: {
        count: degrees.length,
        position: Float64Array.from(normal, (part) => part * R * scale),
        normal: Float64Array.from(normal),
        areaMm2: new Float64Array(degrees.length).fill(1),
        zone: new Uint8Array(degrees.length),
      },
    });
  }

  it('steps 3 mm at a time and clips the last step at the equator', () => {
    const { start, points, arcMm, stepMm, count } = ball([40, 0, 0.5]);
    expect([count, stepMm]).toEqual([3, 3]);
    // R · 40° = 62.83 mm: the root, 20 whole steps, and the equator.
    expect([...start]).toEqual([0, 22, 23, 25]);
    expect(points).toHaveLength(3 * 25);
    for (let i = 1; i <= 20; i += 1) expect(Math.abs(arcMm[i]! - 3 * i)).toBeLessThan(0.01);
    expect(arcMm[21]).toBeCloseTo((R * 40 * Math.PI) / 180, 1);
    expect([points[3 * 21], points[3 * 21 + 2]]).toEqual([R, 0]);
    expect(arcMm[22]).toBe(0);
    // Half a degree is 0.785 mm.
    expect(arcMm[24]).toBeCloseTo((R * 0.5 * Math.PI) / 180, 2);
    expect([points[3 * 24], points[3 * 24 + 2]]).toEqual([R, 0]);
  });

  it('holds strands longer than it had room for', () => {
    // One root near the top: R · 85° = 133.5 mm, 44 whole steps, where room for 32 points was made.
    const { start, points, arcMm } = ball([85]);
    expect([...start]).toEqual([0, 46]);
    expect(points[0]).toBeCloseTo(R * Math.cos((85 * Math.PI) / 180), 4);
    for (let i = 0; i < 46; i += 1) {
      const angle = (85 * Math.PI) / 180 - arcMm[i]! / R;
      expect(points[3 * i]).toBeCloseTo(R * Math.cos(angle), 1);
      expect(points[3 * i + 2]).toBeCloseTo(R * Math.sin(angle), 1);
    }
  });

  it('goes straight downhill from 420 mm on, where no combed line of a head gets to', () => {
    // A ball of 400 mm whose hair is parted down the middle; the root stands 2 degrees off its top, half forward.
    const [up, az] = [(88 * Math.PI) / 180, Math.PI / 4];
    const normal = [Math.cos(up) * Math.sin(az), Math.cos(up) * Math.cos(az), Math.sin(up)];
    const { start, points } = buildFallTable({
      surface: sphereSurface(400),
      comb: { ...head.comb, partingXMm: 0, scale: 1 },
      roots: {
        count: 1,
        position: Float64Array.from(normal, (part) => 400 * part),
        normal: Float64Array.from(normal),
        areaMm2: Float64Array.of(1),
        zone: Uint8Array.of(0),
      },
    });
    // R · 88° = 614 mm are more than 140 steps of 3 mm, and downhill on a ball the direction from the middle stays.
    expect(start[1]).toBeGreaterThan(200);
    const direction = (i: number) => Math.atan2(points[3 * i]!, points[3 * i + 1]!);
    expect(Math.abs(direction(140) - direction(130))).toBeGreaterThan(1e-3);
    expect(Math.abs(direction(141) - direction(140))).toBeLessThan(1e-6);
    expect(Math.abs(direction(start[1]! - 1) - direction(140))).toBeLessThan(1e-5);
  });

  it('steps farther on a larger head, so that it has the same points', () => {
    const small = ball([40]);
    const large = ball([40], 1.2);
    expect(large.stepMm).toBeCloseTo(3.6, 12);
    expect(large.points).toHaveLength(small.points.length);
    large.points.forEach((mm, i) => {
      expect(mm).toBeCloseTo(1.2 * small.points[i]!, 3);
    });
  });
});
