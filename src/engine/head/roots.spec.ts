import { describe, expect, it } from '@jest/globals';
import { ZONES } from '../zones.js';
import { HAIRLINE, meanHairlineZ } from './anatomy.js';
import { buildHead, mirrorZone, sphereSurface, type Vec3 } from './index.js';
import { scalpLattice } from './roots.js';

const DEGREE = Math.PI / 180;
const GOLDEN = (Math.sqrt(5) - 1) / 2;

interface Point {
  readonly x: number;
  readonly y: number;
  readonly z: number;
}

describe('lattice on a ball (closed form)', () => {
  // Archimedes: area goes by height, so N points from the lowest hairline, -100, to the top stand at even heights, each
  // turned on by the golden ratio (Swinbank and Purser 2006), half a turn being the half of the head.
  const R = 120;
  const lattice = (points: number): Point[] =>
    Array.from({ length: points }, (_, i) => {
      const z = -100 + ((R + 100) * (i + 0.5)) / points;
      const az = Math.PI * (((i + 0.5) * GOLDEN) % 1);
      const r = Math.sqrt(R * R - z * z);
      return { x: r * Math.sin(az), y: r * Math.cos(az), z };
    }).filter(({ x, y, z }) => z >= meanHairlineZ(Math.atan2(x, y) / DEGREE));

  it.each([200, 777, 3000])('asked for %d roots', (wanted) => {
    const made = scalpLattice(sphereSurface(R), wanted);
    // A first lattice of 4096 tells how many of them bear hair.
    const points = Math.round((4096 * wanted) / (2 * lattice(4096).length));
    const right = lattice(points);
    expect(made.count).toBe(2 * right.length);
    expect(Math.abs(made.count - wanted)).toBeLessThan(0.02 * wanted);
    right.forEach(({ x, y, z }, k) => {
      for (const [index, side] of [
        [2 * k, 1],
        [2 * k + 1, -1],
      ] as const) {
        const at = [side * x, y, z];
        for (let axis = 0; axis < 3; axis++) {
          expect(made.position[3 * index + axis]).toBeCloseTo(at[axis]!, 9);
          expect(made.normal[3 * index + axis]).toBeCloseTo(at[axis]! / R, 12);
        }
        // Half the belt of a ball, pi R h, shared by the points.
        expect(made.areaMm2[index]).toBeCloseTo((Math.PI * R * (R + 100)) / points, 9);
      }
    });
    expect(made.position).toHaveLength(3 * made.count);
    expect(made.normal).toHaveLength(3 * made.count);
    expect(made.areaMm2).toHaveLength(made.count);
  });

  it('weighs what the scalp measures: R times the integral of (R - hairline)', () => {
    let integral = 0;
    for (let i = 1; i < HAIRLINE.length; i++) {
      const [az0, z0] = HAIRLINE[i - 1]!;
      const [az1, z1] = HAIRLINE[i]!;
      integral += 2 * DEGREE * (az1 - az0) * (R - (z0 + z1) / 2);
    }
    const weight = scalpLattice(sphereSurface(R), 4000).areaMm2.reduce((sum, mm2) => sum + mm2, 0);
    expect(Math.abs(weight / (R * integral) - 1)).toBeLessThan(0.002);
  });

  it('never has fewer than a handful of points', () => {
    // Eight on the half head, of which the lowest grow no hair.
    expect(scalpLattice(sphereSurface(R), 2).count).toBe(2 * lattice(8).length);
  });
});

describe('roots of the mean head', () => {
  it('number about what was asked for', () => {
    expect(Math.abs(buildHead().roots.count - 4000)).toBeLessThan(40);
    expect(Math.abs(buildHead({ rootCount: 900 }).roots.count - 900)).toBeLessThan(20);
  });

  it('weigh as much as the scalp is large, in front and behind, above and below', () => {
    // Independent: dA = r dr/dn over a fine grid of directions and heights, by the midpoint rule.
    const head = buildHead();
    const normal: Vec3 = new Float64Array(3);
    const quarter = (y: number, z: number): number => (y < 0 ? 0 : 1) + (z < 0 ? 0 : 2);
    const area = [0, 0, 0, 0];
    const dz = 0.5;
    const da = 1;
    for (let az = da / 2; az < 180; az += da) {
      for (let z = -100 + dz / 2; z < 90; z += dz) {
        if (z < head.hairlineZ(az)) continue;
        const r = head.surface.radiusAt(az * DEGREE, z);
        const x = r * Math.sin(az * DEGREE);
        const y = r * Math.cos(az * DEGREE);
        head.surface.normal(x, y, z, normal);
        area[quarter(y, z)]! += (2 * dz * da * DEGREE * r * r) / (normal[0]! * x + normal[1]! * y);
      }
    }
    const weight = [0, 0, 0, 0];
    head.roots.areaMm2.forEach((mm2, i) => {
      weight[quarter(head.roots.position[3 * i + 1]!, head.roots.position[3 * i + 2]!)]! += mm2;
    });
    const sum = (of: readonly number[]): number => of.reduce((all, part) => all + part);
    expect(Math.abs(sum(weight) / sum(area) - 1)).toBeLessThan(0.005);
    // Nothing but the strips before the ears grows in front below the equator: too small a part to count roots in.
    for (const k of [0, 2, 3]) expect(Math.abs(weight[k]! / area[k]! - 1)).toBeLessThan(0.01);
  });

  it('stand evenly: none counts for more than twice another', () => {
    const { areaMm2 } = buildHead().roots;
    expect(Math.max(...areaMm2) / Math.min(...areaMm2)).toBeLessThan(2);
  });

  it('come in mirrored pairs on the surface, above the hairline, with unit normals', () => {
    const head = buildHead({ rootCount: 1000 });
    const { position: p, normal: n, zone, count } = head.roots;
    const normal: Vec3 = new Float64Array(3);
    for (let i = 0; i < count; i += 2) {
      const at = 3 * i;
      expect(p[at + 3]).toBe(-p[at]!);
      expect(p[at + 4]).toBe(p[at + 1]);
      expect(p[at + 5]).toBe(p[at + 2]);
      expect(ZONES[zone[i + 1]!]).toBe(mirrorZone(ZONES[zone[i]!]!));
      expect(Math.abs(head.surface.clearanceMm(p[at]!, p[at + 1]!, p[at + 2]!))).toBeLessThan(1e-9);
      for (const k of [at, at + 3]) {
        head.surface.normal(p[k]!, p[k + 1]!, p[k + 2]!, normal);
        for (let axis = 0; axis < 3; axis++) expect(n[k + axis]).toBeCloseTo(normal[axis]!, 12);
      }
      const az = Math.atan2(p[at]!, p[at + 1]!) / DEGREE;
      expect(p[at + 2]!).toBeGreaterThanOrEqual(head.hairlineZ(az));
    }
  });

  it('fill every zone, the sides equally', () => {
    const { roots } = buildHead({ rootCount: 2000 });
    const area = ZONES.map(() => 0);
    roots.zone.forEach((zone, i) => {
      area[zone]! += roots.areaMm2[i]!;
    });
    for (const mm2 of area) expect(mm2).toBeGreaterThan(2000);
    expect(area[ZONES.indexOf('left-side')]).toBeCloseTo(area[ZONES.indexOf('right-side')]!, 6);
  });
});
