import { describe, expect, it } from '@jest/globals';
import { EngineError } from '../errors.js';
import { ZONES } from '../zones.js';
import { ellipseArc } from './ellipse.js';
import { buildHead, type HeadOptions, TRADE_ZONE_BOUNDS, type Vec3, type ZoneBounds } from './index.js';

const DEGREE = Math.PI / 180;
/** Built in every check: few roots, and nothing shared. */
const small = (options: HeadOptions = {}): ReturnType<typeof buildHead> =>
  buildHead({ rootCount: 200, ...options });

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
    const { x, y } = small().surface.radiiMm;
    expect(Math.abs(2 * y - 189.8)).toBeLessThan(7.4);
    expect(Math.abs(2 * x - 147.8)).toBeLessThan(5.2);
  });

  it('has the front hairline 60 mm of arc above the brow (trichion to glabella 55 to 61, reference-values)', () => {
    expect(Math.abs(ellipseArc(90, 95, tilt(-7), tilt(49.7)) - 60)).toBeLessThan(1);
  });

  it('measures tragion to top near the women of ANSUR II (126.5 +- 6.5)', () => {
    const { apex, tragionLeft } = small().landmarks;
    expect(Math.abs(apex.z - tragionLeft.z - 126.5)).toBeLessThan(6.5);
  });

  it('has the normal of its ridge 35 degrees above horizontal', () => {
    const head = small();
    const normal: Vec3 = new Float64Array(3);
    for (const { x, y, z } of [head.landmarks.ridgeLeft, head.landmarks.ridgeRight]) {
      head.surface.normal(x, y, z, normal);
      expect(Math.asin(normal[2]!) / DEGREE).toBeCloseTo(35, 9);
    }
  });
});

describe('a head of another size', () => {
  it.each([450, 583, 700])('%d mm round is the same head scaled', (circumferenceMm) => {
    const other = small({ circumferenceMm });
    const mean = small();
    const k = circumferenceMm / 560;
    expect(other.scale).toBe(k);
    expect(other.surface.radiiMm).toEqual({ x: 75 * k, y: 95 * k, z: 90 * k });
    expect(other.roots.count).toBe(mean.roots.count);
    expect(other.roots.zone).toEqual(mean.roots.zone);
    expect(other.roots.normal).toEqual(mean.roots.normal);
    for (let i = 0; i < 3 * mean.roots.count; i += 37) {
      expect(other.roots.position[i]).toBeCloseTo(mean.roots.position[i]! * k, 9);
    }
    for (let i = 0; i < mean.roots.count; i += 13) {
      expect(other.roots.areaMm2[i]).toBeCloseTo(mean.roots.areaMm2[i]! * k * k, 9);
    }
    expect(other.landmarks.brow.y).toBeCloseTo(mean.landmarks.brow.y * k, 9);
    expect(other.hairlineZ(100)).toBeCloseTo(-12 * k, 9);
    // The skull above, the neck below.
    expect(other.surface.radiusAt(2, -30 * k)).toBeCloseTo(mean.surface.radiusAt(2, -30) * k, 9);
    expect(other.surface.radiusAt(2, -120 * k)).toBeCloseTo(mean.surface.radiusAt(2, -120) * k, 9);
    expect(other.surface.contains(0, 0, -90.5 * k)).toBe(true);
    expect(other.comb.whorl.x).toBe(0);
    expect(other.comb.whorl.y).toBeCloseTo(-61 * k, 9);
    expect(other.comb.scale).toBe(k);
    // The neck begins at -50, inside the skull on the mean head.
    expect(other.surface.radiusAt(2, -49.9 * k)).toBeCloseTo(mean.surface.radiusAt(2, -49.9) * k, 9);
    expect(other.surface.contains(0, -57.9 * k, -50.1 * k)).toBe(true);
    expect(ZONES[other.zoneIndexAt(70 * k, 10 * k, 20 * k)]).toBe('right-side');
    expect(ZONES[other.zoneIndexAt(30 * k, 10 * k, 80 * k)]).toBe('top');
  });

  it('has its neck come out of the skull as far down', () => {
    // On the mean head the neck begins at -50 and stands out of the skull from -71 on at the back.
    for (const k of [1, 1.2, 0.85]) {
      const { surface } = small({ circumferenceMm: 560 * k });
      expect(surface.radiusAt(Math.PI, -74 * k)).toBeCloseTo(58 * k, 9);
      expect(surface.radiusAt(Math.PI, -68 * k)).toBeCloseTo(95 * k * Math.sqrt(1 - (68 / 90) ** 2), 9);
    }
  });

  it('is built the same twice, and tells what it was built from', () => {
    const options = { rootCount: 300, circumferenceMm: 575 };
    expect(buildHead(options).roots).toEqual(buildHead(options).roots);
    expect(buildHead(options).options).toBe(options);
  });

  it('is the mean head with 4,000 roots if nothing is known', () => {
    const unset = buildHead();
    expect(unset.scale).toBe(1);
    expect(unset.options).toEqual({});
    expect(unset.roots).toEqual(buildHead({ circumferenceMm: 560, rootCount: 4000 }).roots);
  });
});

describe('whorl and parting', () => {
  it.each([
    ['middle', 0],
    ['left', -15],
    ['right', 15],
  ] as const)('whorl %s: x = %d, on the skull', (whorlSide, x) => {
    const { landmarks, comb } = small({ whorlSide });
    // z of the ellipsoid there: 90 sqrt(1 - (x / 75)^2 - (61 / 95)^2), 69.0 on the midline as the design has it.
    const z = 90 * Math.sqrt(1 - (x / 75) ** 2 - (61 / 95) ** 2);
    expect(landmarks.whorl).toEqual({ x, y: -61, z: expect.closeTo(z, 9) });
    expect(comb.whorl).toEqual(landmarks.whorl);
    expect(Math.abs(small().landmarks.whorl.z - 69)).toBeLessThan(0.05);
  });

  it('takes the place of the whorl as measured on this head, over the side it was said to be on', () => {
    const { landmarks } = small({
      circumferenceMm: 560 * 1.1,
      whorlSide: 'left',
      whorlAtMm: { x: 22, y: -44 },
    });
    expect(landmarks.whorl.x).toBeCloseTo(22, 9);
    expect(landmarks.whorl.y).toBeCloseTo(-44, 9);
    expect(landmarks.whorl.z).toBeCloseTo(99 * Math.sqrt(1 - (20 / 75) ** 2 - (40 / 95) ** 2), 9);
    expect(small({ circumferenceMm: 616, whorlSide: 'left' }).landmarks.whorl.x).toBeCloseTo(-16.5, 9);
  });

  it('takes a whorl down to where the skull leans 45 degrees', () => {
    // On the midline the normal (y / 95^2, z / 90^2) leans 45 degrees where z = 90^2 y / 95^2: y = 95^2 / hypot(95, 90).
    const y = -(95 * 95) / Math.hypot(95, 90);
    expect(small({ whorlAtMm: { x: 0, y: y + 0.01 } }).landmarks.whorl.y).toBe(y + 0.01);
    expect(() => small({ whorlAtMm: { x: 0, y: y - 0.01 } })).toThrow('move it closer to the apex');
  });

  it.each([
    [undefined, 0],
    ['middle', 0],
    ['left', -31],
    ['right', 31],
    ['none', undefined],
  ] as const)('parting %s: x = %s, above the eye at the side', (partingSide, x) => {
    const at = small(partingSide && { partingSide }).comb.partingXMm;
    const large = small({ ...(partingSide && { partingSide }), circumferenceMm: 672 }).comb.partingXMm;
    expect(at).toBe(x);
    if (x === undefined) expect(large).toBeUndefined();
    else expect(large).toBeCloseTo(1.2 * x, 9);
  });
});

describe('an impossible head', () => {
  const refusal = (options: HeadOptions): EngineError => {
    try {
      small(options);
    } catch (error) {
      if (error instanceof EngineError) return error;
      throw error;
    }
    throw new Error('was not refused');
  };

  it.each<[string, HeadOptions, string, string]>([
    ['circumferenceMm', { circumferenceMm: 449.9 }, 'ENGINE.OUT_OF_RANGE', 'must lie between 450 and 700.'],
    ['circumferenceMm', { circumferenceMm: 700.1 }, 'ENGINE.OUT_OF_RANGE', 'must lie between 450 and 700.'],
    ['circumferenceMm', { circumferenceMm: Number.NaN }, 'ENGINE.NOT_A_NUMBER', 'must be a finite number.'],
    ['rootCount', { rootCount: 199 }, 'ENGINE.OUT_OF_RANGE', 'must lie between 200 and 40000.'],
    ['rootCount', { rootCount: 40_001 }, 'ENGINE.OUT_OF_RANGE', 'must lie between 200 and 40000.'],
    [
      'whorlAtMm.x',
      { whorlAtMm: { x: Number.NaN, y: 0 } },
      'ENGINE.NOT_A_NUMBER',
      'must be a finite number.',
    ],
    ['whorlAtMm.x', { whorlAtMm: { x: -75.1, y: 0 } }, 'ENGINE.OUT_OF_RANGE', 'between -75 and 75.'],
    ['whorlAtMm.x', { whorlAtMm: { x: 75.1, y: 0 } }, 'ENGINE.OUT_OF_RANGE', 'between -75 and 75.'],
    ['whorlAtMm.y', { whorlAtMm: { x: 0, y: -95.1 } }, 'ENGINE.OUT_OF_RANGE', 'between -95 and 95.'],
    ['whorlAtMm.y', { whorlAtMm: { x: 0, y: 95.1 } }, 'ENGINE.OUT_OF_RANGE', 'between -95 and 95.'],
    ['whorlAtMm', { whorlAtMm: { x: 0, y: -93 } }, 'ENGINE.OUT_OF_RANGE', 'on the upper head'],
    ['whorlAtMm', { whorlAtMm: { x: 74, y: 90 } }, 'ENGINE.OUT_OF_RANGE', 'on the upper head'],
    ['whorlAtMm', { whorlAtMm: { x: 0, y: 95 } }, 'ENGINE.OUT_OF_RANGE', 'on the upper head'],
  ])('%s is refused: %j', (field, options, code, words) => {
    const error = refusal(options);
    expect({ field: error.field, code: error.code }).toEqual({ field, code });
    expect(error.message).toContain(words);
  });

  it.each([450, 700])('is not one of %d mm round', (circumferenceMm) => {
    expect(small({ circumferenceMm }).scale).toBe(circumferenceMm / 560);
  });

  // The ranges that a stylist's sectioning may take, in mm, degrees, and the upward part of a normal.
  it.each<[keyof ZoneBounds, number, number]>([
    ['napeBelowZMm', -100, 0],
    ['napeBehindDegrees', 60, 180],
    ['crownRadiusMm', 0, 90],
    ['fringeWithinDegrees', 0, 90],
    ['fringeFromYMm', 0, 95],
    ['ridgeNormalZ', 0, 1],
    ['topWithinDegrees', 0, 90],
    ['topFromYMm', -95, 95],
    ['sideToDegrees', 60, 180],
  ])('has no %s beyond %d to %d', (name, min, max) => {
    const bounds = (value: number): HeadOptions => ({ zoneBounds: { ...TRADE_ZONE_BOUNDS, [name]: value } });
    for (const value of [min - 0.01, max + 0.01]) {
      const error = refusal(bounds(value));
      expect({ field: error.field, code: error.code }).toEqual({
        field: `zoneBounds.${name}`,
        code: 'ENGINE.OUT_OF_RANGE',
      });
      expect(error.message).toBe(`zoneBounds.${name} must lie between ${min} and ${max}.`);
    }
    expect(refusal(bounds(Number.NaN)).code).toBe('ENGINE.NOT_A_NUMBER');
    for (const value of [min, max]) {
      expect(small(bounds(value)).roots.zone.every((zone) => zone < ZONES.length)).toBe(true);
    }
  });
});
