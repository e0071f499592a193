import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { EngineError } from '../errors.js';
import { ZONES } from '../zones.js';
import { ellipseArc } from './ellipse.js';
import { buildHead, mirrorZone, TRADE_ZONE_BOUNDS, type Vec3 } from './index.js';

const DEGREE = Math.PI / 180;
const head = buildHead();

/** Ellipse parameter of a height below (negative) or above the equator, counted from the equator. */
const tilt = (z: number): number => Math.asin(z / 90);

describe('size of the mean head', () => {
  it.each([
    // Figures of the design's prototype, measured on the bare ellipsoid; here by elliptic arcs.
    ['round the head', ellipseArc(75, 95, 0, 2 * Math.PI), 536, 1],
    ['over the apex from tragion to tragion', 2 * ellipseArc(90, 75, tilt(-38), Math.PI / 2), 337, 1.5],
    [
      'over the apex from the brow to the inion',
      ellipseArc(90, 95, tilt(-7), Math.PI / 2) + ellipseArc(90, 95, tilt(-41), Math.PI / 2),
      339,
      1.5,
    ],
  ])('%s', (_what, mm, published, tolerance) => {
    expect(Math.abs(mm - published)).toBeLessThan(tolerance);
  });

  it('is as long and broad as the women of ANSUR II (189.8 +- 7.4, 147.8 +- 5.2)', () => {
    const { x, y } = head.surface.radiiMm;
    expect(Math.abs(2 * y - 189.8)).toBeLessThan(7.4);
    expect(Math.abs(2 * x - 147.8)).toBeLessThan(5.2);
  });

  it('has the front hairline 60 mm of arc above the brow (trichion to glabella 55 to 61, reference-values)', () => {
    expect(Math.abs(ellipseArc(90, 95, tilt(-7), tilt(49.7)) - 60)).toBeLessThan(1);
  });

  it('measures tragion to top near the women of ANSUR II (126.5 +- 6.5)', () => {
    expect(Math.abs(head.landmarks.apex.z - head.landmarks.tragionLeft.z - 126.5)).toBeLessThan(6.5);
  });
});

describe('landmarks', () => {
  it('lie on the surface', () => {
    for (const [name, { x, y, z }] of Object.entries(head.landmarks)) {
      // tragion and mastoid are given to the millimetre
      const off = Math.abs(head.surface.clearanceMm(x, y, z));
      expect({ name, off: off < 3 }).toEqual({ name, off: true });
    }
  });

  it('put the parietal ridge where the normal stands 35 degrees above horizontal', () => {
    const normal: Vec3 = new Float64Array(3);
    for (const { x, y, z } of [head.landmarks.ridgeLeft, head.landmarks.ridgeRight]) {
      head.surface.normal(x, y, z, normal);
      expect(Math.asin(normal[2]!) / DEGREE).toBeCloseTo(35, 9);
    }
  });

  it('follow the hairline of the design', () => {
    expect([0, 29, 38, -55, 92, 180, -180, 146.5].map((az) => head.hairlineZ(az))).toEqual([
      50,
      51,
      50,
      16.5,
      -12,
      -100,
      -100,
      -85 - (12 * 11.5) / 20,
    ]);
  });
});

describe('roots', () => {
  it('number about what was asked for', () => {
    expect(Math.abs(head.roots.count - 4000)).toBeLessThan(40);
    expect(Math.abs(buildHead({ rootCount: 900 }).roots.count - 900)).toBeLessThan(20);
  });

  it('weigh as much as the scalp is large', () => {
    // Independent: dA = r dr/dn over a fine grid of directions and heights, by the midpoint rule.
    let area = 0;
    const normal: Vec3 = new Float64Array(3);
    const dz = 0.5;
    const da = 0.5;
    for (let az = -180 + da / 2; az < 180; az += da) {
      for (let z = -100 + dz / 2; z < 90; z += dz) {
        if (z < head.hairlineZ(az)) continue;
        const r = head.surface.radiusAt(az * DEGREE, z);
        const x = r * Math.sin(az * DEGREE);
        const y = r * Math.cos(az * DEGREE);
        head.surface.normal(x, y, z, normal);
        area += (dz * da * DEGREE * r * r) / (normal[0]! * x + normal[1]! * y);
      }
    }
    const weight = head.roots.areaMm2.reduce((sum, mm2) => sum + mm2);
    expect(Math.abs(weight / area - 1)).toBeLessThan(0.005);
  });

  it('stand evenly: none counts for more than twice another', () => {
    expect(Math.max(...head.roots.areaMm2) / Math.min(...head.roots.areaMm2)).toBeLessThan(2);
  });

  it('come in mirrored pairs on the surface, above the hairline, with unit normals', () => {
    const { position: p, normal: n, zone, count } = head.roots;
    for (let i = 0; i < count; i += 2) {
      const at = 3 * i;
      expect(p[at + 3]).toBe(-p[at]!);
      expect(p[at + 4]).toBe(p[at + 1]);
      expect(p[at + 5]).toBe(p[at + 2]);
      expect(ZONES[zone[i + 1]!]).toBe(mirrorZone(ZONES[zone[i]!]!));
      expect(Math.abs(head.surface.clearanceMm(p[at]!, p[at + 1]!, p[at + 2]!))).toBeLessThan(1e-9);
      expect(Math.hypot(n[at]!, n[at + 1]!, n[at + 2]!)).toBeCloseTo(1, 12);
      const az = Math.atan2(p[at]!, p[at + 1]!) / DEGREE;
      expect(p[at + 2]!).toBeGreaterThanOrEqual(head.hairlineZ(az));
    }
  });

  it('fill every zone, the sides equally', () => {
    const area = ZONES.map(() => 0);
    head.roots.zone.forEach((zone, i) => {
      area[zone]! += head.roots.areaMm2[i]!;
    });
    for (const mm2 of area) expect(mm2).toBeGreaterThan(2000);
    expect(area[ZONES.indexOf('left-side')]).toBeCloseTo(area[ZONES.indexOf('right-side')]!, 6);
  });
});

describe('zones as data', () => {
  it.each([
    ['fringe', 0, 70],
    ['top', 0, 10],
    ['crown', 0, -55],
    ['left-side', -72, 10],
    ['right-side', 72, 10],
    ['back', 0, -93],
  ])('%s', (zone, x, y) => {
    const z = 90 * Math.sqrt(1 - (x / 75) ** 2 - (y / 95) ** 2);
    expect(ZONES[head.zoneIndexAt(x, y, z)]).toBe(zone);
  });

  it('end the nape where the stylist sections it', () => {
    const at = [0, -84, -42] as const;
    expect(ZONES[head.zoneIndexAt(...at)]).toBe('nape');
    const lower = buildHead({ zoneBounds: { ...TRADE_ZONE_BOUNDS, napeBelowZMm: -60 } });
    expect(ZONES[lower.zoneIndexAt(...at)]).toBe('back');
  });

  it('move the crown with the whorl', () => {
    const left = buildHead({ whorlSide: 'left' });
    const right = buildHead({ whorlAtMm: { x: 15, y: -61 } });
    expect(left.landmarks.whorl.x).toBe(-15);
    const crownOf = (h: typeof head, odd: number): number =>
      h.roots.zone.filter((zone, i) => i % 2 === odd && ZONES[zone] === 'crown').length;
    expect(crownOf(left, 1)).toBeGreaterThan(crownOf(left, 0));
    expect(crownOf(left, 1)).toBe(crownOf(right, 0));
  });
});

describe('a head of another size', () => {
  it('is the same head scaled', () => {
    fc.assert(
      fc.property(fc.double({ min: 450, max: 700, noNaN: true }), (circumferenceMm) => {
        const other = buildHead({ circumferenceMm, rootCount: 400 });
        const mean = buildHead({ rootCount: 400 });
        const k = circumferenceMm / 560;
        expect(other.scale).toBe(k);
        expect(other.roots.count).toBe(mean.roots.count);
        expect(other.roots.zone).toEqual(mean.roots.zone);
        for (let i = 0; i < 3 * mean.roots.count; i += 37) {
          expect(other.roots.position[i]).toBeCloseTo(mean.roots.position[i]! * k, 9);
        }
        expect(other.landmarks.brow.y).toBeCloseTo(mean.landmarks.brow.y * k, 9);
        expect(other.hairlineZ(100)).toBeCloseTo(-12 * k, 9);
      }),
      { numRuns: 20 },
    );
  });

  it('is built the same twice', () => {
    expect(buildHead().roots).toEqual(head.roots);
  });

  it.each([
    ['circumferenceMm', { circumferenceMm: 300 }],
    ['circumferenceMm', { circumferenceMm: Number.NaN }],
    ['rootCount', { rootCount: 3 }],
    ['whorlAtMm', { whorlAtMm: { x: 0, y: -93 } }],
    ['whorlAtMm', { whorlAtMm: { x: 74, y: 90 } }],
    ['whorlAtMm.x', { whorlAtMm: { x: Number.NaN, y: 0 } }],
    ['zoneBounds.crownRadiusMm', { zoneBounds: { ...TRADE_ZONE_BOUNDS, crownRadiusMm: -1 } }],
  ])('refuses an impossible %s', (field, options) => {
    let thrown: unknown;
    try {
      buildHead(options);
    } catch (error) {
      thrown = error;
    }
    expect(thrown).toBeInstanceOf(EngineError);
    expect((thrown as EngineError).field).toBe(field);
  });
});
