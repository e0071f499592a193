import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { CRANIUM, NECK } from './anatomy.js';
import { sphereSurface, type Vec3 } from './index.js';
import { CraniumSurface } from './surface.js';

const DEGREE = Math.PI / 180;
const { a, b, c } = CRANIUM;
const surface = new CraniumSurface(a, b, c, NECK);
const bare = new CraniumSurface(a, b, c);
const coordinate = fc.double({ min: -130, max: 130, noNaN: true });
const out: Vec3 = new Float64Array(3);
const normal: Vec3 = new Float64Array(3);

/** 1 on the ellipsoid and on the neck's cylinder: their equations. */
const cranium = (x: number, y: number, z: number): number => (x / a) ** 2 + (y / b) ** 2 + (z / c) ** 2;
const cylinder = (x: number, y: number): number => (x / NECK.rx) ** 2 + ((y - NECK.centreY) / NECK.ry) ** 2;

describe('surface', () => {
  it('knows how far a point lies from a sphere', () => {
    fc.assert(
      fc.property(coordinate, coordinate, coordinate, (x, y, z) => {
        const r = Math.hypot(x, y, z);
        fc.pre(r > 1e-3);
        expect(sphereSurface(90).clearanceMm(x, y, z)).toBeCloseTo(r - 90, 9);
        expect(sphereSurface(90).contains(x, y, z)).toBe(
          r < 90 && sphereSurface(90).clearanceMm(x, y, z) < 0,
        );
      }),
    );
  });

  it('projects any point onto itself, with a normal that leads outwards', () => {
    fc.assert(
      fc.property(coordinate, coordinate, coordinate, (x, y, z) => {
        surface.project(x, y, z, out);
        const [px, py, pz] = [out[0]!, out[1]!, out[2]!];
        expect(Math.abs(surface.clearanceMm(px, py, pz))).toBeLessThan(1e-9);
        surface.normal(px, py, pz, normal);
        expect(Math.hypot(normal[0]!, normal[1]!, normal[2]!)).toBeCloseTo(1, 12);
        const beyond = (mm: number): boolean =>
          surface.contains(px + mm * normal[0]!, py + mm * normal[1]!, pz + mm * normal[2]!);
        expect(beyond(0.01)).toBe(false);
        expect(beyond(-0.01)).toBe(true);
      }),
    );
  });

  it('has no step where the neck leaves the skull', () => {
    for (let az = -180; az <= 180; az += 3) {
      for (let z = -100; z < -30; z += 0.25) {
        const step =
          surface.radiusAt((az * Math.PI) / 180, z + 0.25) - surface.radiusAt((az * Math.PI) / 180, z);
        expect(Math.abs(step)).toBeLessThan(0.7);
      }
    }
  });

  it('holds the centre inside and answers for it without NaN', () => {
    expect(surface.contains(0, 0, 0)).toBe(true);
    expect(surface.contains(0, -4, -200)).toBe(true);
    expect(surface.contains(0, -60, -200)).toBe(false);
    // The centre goes to the apex, and stands for the way up.
    surface.project(0, 0, 0, out);
    expect([...out]).toEqual([0, 0, c]);
    surface.normal(0, 0, 0, normal);
    expect([...normal]).toEqual([0, 0, 1]);
    surface.normal(0, 0, c, normal);
    expect([...normal]).toEqual([0, 0, 1]);
    // Nothing lies further inside than the least half axis.
    expect(surface.clearanceMm(0, 0, 0)).toBe(-75);
    expect(new CraniumSurface(80, 60, 70).clearanceMm(0, 0, 0)).toBe(-60);
    expect(surface.clearanceMm(0, -4, -200)).toBe(-50);
  });

  it('tells its half axes', () => {
    expect(surface.radiiMm).toEqual({ x: 75, y: 95, z: 90 });
    expect(sphereSurface(88).radiiMm).toEqual({ x: 88, y: 88, z: 88 });
  });
});

describe('clearance', () => {
  it.each([
    // On an axis the nearest point is the axis' end, and first order is exact.
    ['right of the head', [100, 0, 0], 25],
    ['inside, on the left', [-60, 0, 0], -15],
    ['before it', [0, 120, 0], 25],
    ['behind it', [0, -100, 0], 5],
    ['above it', [0, 0, 200], 110],
    ['inside, above the centre', [0, 0, 60], -30],
    // The neck is 50 across and 54 deep round y = -4; far below it is alone.
    ['right of the neck', [60, -4, -200], 10],
    ['inside the neck', [-30, -4, -200], -20],
    ['behind the neck', [0, -68, -200], 10],
    ['before the neck', [0, 55, -200], 5],
    // 60 behind at the neck's top the cranium holds the point, though the neck does not.
    ['inside the cranium, outside the neck', [0, -60, -60], undefined],
  ] as const)('%s', (_what, [x, y, z], mm) => {
    const found = surface.clearanceMm(x, y, z);
    if (mm === undefined) expect(found).toBeLessThan(0);
    else expect(found).toBeCloseTo(mm, 12);
  });

  it('is the distance gone along the normal, to the second order', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -Math.PI, max: Math.PI, noNaN: true }),
        fc.double({ min: -150, max: 85, noNaN: true }),
        fc.constantFrom(-0.2, 0.1, 0.2),
        (az, z, mm) => {
          const r = surface.radiusAt(az, z);
          const [x, y] = [r * Math.sin(az), r * Math.cos(az)];
          surface.normal(x, y, z, normal);
          const at = [x + mm * normal[0]!, y + mm * normal[1]!, z + mm * normal[2]!] as const;
          // Where neck and skull meet the other one may lie closer.
          const [inSkull, inNeck] = [cranium(...at), z < NECK.topZ ? cylinder(at[0], at[1]) : 9];
          fc.pre(Math.abs(inSkull - inNeck) > 0.05);
          // Curved by at most 1 / 45 mm: an error of mm^2 / 45.
          expect(Math.abs(surface.clearanceMm(...at) - mm)).toBeLessThan(0.001);
        },
      ),
    );
  });

  it('takes the closer of skull and neck, and the neck only below its top', () => {
    const low = [0, -56, -70] as const;
    expect(cranium(...low)).toBeLessThan(1);
    expect(cylinder(0, -56)).toBeLessThan(1);
    expect(surface.clearanceMm(...low)).toBeCloseTo(Math.min(bare.clearanceMm(...low), -2), 12);
    // Just above the top of a neck that stood out of the skull there would be nothing.
    const out = new CraniumSurface(20, 20, 20, { rx: 50, ry: 54, centreY: -4, topZ: -50 });
    expect(out.clearanceMm(0, 40, -50)).toBeGreaterThan(0);
    expect(out.clearanceMm(0, 40, -50.001)).toBeCloseTo(-10, 12);
    expect(out.contains(0, 40, -50)).toBe(false);
    expect(out.contains(0, 40, -50.001)).toBe(true);
    expect(out.contains(0, 50, -60)).toBe(false);
    expect(sphereSurface(90).contains(0, 0, 90)).toBe(false);
  });
});

describe('project', () => {
  it('goes along the ray from the centre on the skull', () => {
    // (30, 40, 20): k = sqrt((30/75)^2 + (40/95)^2 + (20/90)^2)
    const k = Math.hypot(30 / 75, 40 / 95, 20 / 90);
    surface.project(30, 40, 20, out);
    expect([...out]).toEqual([30 / k, 40 / k, 20 / k]);
    bare.project(-3, -4, -60, out);
    const down = Math.hypot(3 / 75, 4 / 95, 60 / 90);
    expect([...out]).toEqual([-3 / down, -4 / down, -60 / down]);
  });

  it('goes straight out from the axis on the neck, at the same height', () => {
    surface.project(30, -40, -95, out);
    expect(out[2]).toBe(-95);
    expect(Math.atan2(out[0]!, out[1]!)).toBeCloseTo(Math.atan2(30, -40), 12);
    expect(cylinder(out[0]!, out[1]!)).toBeCloseTo(1, 12);
    surface.project(0, -200, -120, out);
    expect([...out]).toEqual([expect.closeTo(0, 12), expect.closeTo(-58, 12), -120]);
  });

  it('keeps the height of what the ray would put under the top of the neck', () => {
    // (10, 0, -40) lies above the neck's top, but its ray leaves the skull at -40 / hypot(10/75, 40/90) = -86.2.
    const height = -40 / Math.hypot(10 / 75, 40 / 90);
    surface.project(10, 0, -40, out);
    expect(out[2]).toBeCloseTo(height, 12);
    expect(out[0]).toBeCloseTo(surface.radiusAt(Math.PI / 2, height), 12);
    expect(out[1]).toBeCloseTo(0, 12);
    expect(cylinder(out[0]!, 0)).toBeCloseTo(1, 12);
  });
});

describe('normal', () => {
  it('is the gradient of the ellipsoid, or of the neck where that stands out', () => {
    for (const [az, z] of [
      [0.3, 20],
      [-2, -30],
      [3, 60],
    ] as const) {
      const r = surface.radiusAt(az, z);
      const at = [r * Math.sin(az), r * Math.cos(az), z] as const;
      const gradient = [at[0] / a ** 2, at[1] / b ** 2, z / c ** 2];
      surface.normal(...at, normal);
      for (let k = 0; k < 3; k++) {
        expect(normal[k]).toBeCloseTo(gradient[k]! / Math.hypot(...gradient), 12);
      }
    }
    const az = 2.5;
    const r = surface.radiusAt(az, -95);
    const [x, y] = [r * Math.sin(az), r * Math.cos(az)];
    const gradient = [x / 50 ** 2, (y + 4) / 54 ** 2];
    surface.normal(x, y, -95, normal);
    expect(normal[0]).toBeCloseTo(gradient[0]! / Math.hypot(...gradient), 12);
    expect(normal[1]).toBeCloseTo(gradient[1]! / Math.hypot(...gradient), 12);
    expect(normal[2]).toBe(0);
  });

  it('is that of the neck on its own axis and that of a skull without one', () => {
    surface.normal(0, -4, -200, normal);
    expect([...normal]).toEqual([0, 0, 1]);
    bare.normal(0, -4, -200, normal);
    expect(normal[2]).toBeLessThan(-0.99);
  });
});

describe('radius', () => {
  it('meets the equation of the ellipsoid above and of the neck below', () => {
    for (let az = -175; az <= 180; az += 35) {
      const at = (z: number): [number, number] => {
        const r = surface.radiusAt(az * DEGREE, z);
        return [r * Math.sin(az * DEGREE), r * Math.cos(az * DEGREE)];
      };
      for (const z of [80, 30, 0, -30, -49.9]) expect(cranium(...at(z), z)).toBeCloseTo(1, 12);
      for (const z of [-88, -100, -300]) expect(cylinder(...at(z))).toBeCloseTo(1, 12);
    }
    expect(surface.radiusAt(0, 0)).toBeCloseTo(95, 12);
    expect(surface.radiusAt(Math.PI / 2, 0)).toBeCloseTo(75, 12);
    expect(surface.radiusAt(0, -200)).toBeCloseTo(50, 12);
    expect(surface.radiusAt(Math.PI, -200)).toBeCloseTo(58, 12);
  });

  it('is the wider of skull and neck between them', () => {
    // At z = -60 the back of the skull is 95 sqrt(1 - 4/9) = 70.8 from the axis, the neck 58; at -85 it is 31.2.
    expect(surface.radiusAt(Math.PI, -60)).toBeCloseTo(95 * Math.sqrt(5 / 9), 12);
    expect(surface.radiusAt(Math.PI, -85)).toBeCloseTo(58, 12);
    expect(bare.radiusAt(Math.PI, -85)).toBeCloseTo(95 * Math.sqrt(1 - (85 / 90) ** 2), 12);
  });

  it('is nothing above the apex and below a skull without a neck', () => {
    expect(surface.radiusAt(1, 90)).toBe(0);
    expect(surface.radiusAt(1, 95)).toBe(0);
    expect(bare.radiusAt(1, -120)).toBe(0);
  });

  it('has the neck begin below its top only', () => {
    const wide = new CraniumSurface(20, 20, 80, { rx: 50, ry: 54, centreY: -4, topZ: -50 });
    expect(wide.radiusAt(0, -50)).toBeCloseTo(20 * Math.sqrt(1 - (50 / 80) ** 2), 12);
    expect(wide.radiusAt(0, -50.001)).toBeCloseTo(50, 12);
  });
});
