import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { buildHead, sphereSurface, type Vec3 } from './index.js';

const { surface } = buildHead();
const coordinate = fc.double({ min: -130, max: 130, noNaN: true });
const out: Vec3 = new Float64Array(3);
const normal: Vec3 = new Float64Array(3);

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
    surface.project(0, 0, 0, out);
    surface.normal(0, 0, 0, normal);
    expect([...out, ...normal].every(Number.isFinite)).toBe(true);
  });
});
