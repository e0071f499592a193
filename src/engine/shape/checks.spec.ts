import { describe, expect, it } from '@jest/globals';
import { buildHead, type Head, type Roots, sphereSurface } from '../head/index.js';
import { ZONES } from '../zones.js';
import { daysToMultiply } from './contrast.js';
import { arcToPlane, buildFallTable, type FallTable } from './fall.js';
import { graduationTopLengthMm, graduationWeightLineMm } from './graduated-back.js';
import { evenRates } from './grow.js';
import { landmarkReadings } from './landmarks.js';
import { growShape, hairShape } from './tips.js';
import { weightLine, weightWindow, weightWindowOf } from './weight-line.js';

const DEGREE = Math.PI / 180;
const cos = (degrees: number) => Math.cos(degrees * DEGREE);
const head = buildHead();
const fall = buildFallTable(head);
const reference = evenRates(0.35);

/** Simpson's rule, for checks that must not lean on the engine's own marching. */
function simpson(f: (x: number) => number, from: number, to: number, halves = 8): number {
  const h = (to - from) / (2 * halves);
  let sum = f(from) + f(to);
  for (let i = 1; i < 2 * halves; i += 1) sum += (i % 2 === 1 ? 4 : 2) * f(from + i * h);
  return (sum * h) / 3;
}

/** On the ellipse r, 90 of a half-meridian: height z = 90 sin t; arc per t; dip of the normal in degrees below the equator. */
const arcPer = (r: number, t: number) => Math.hypot(r * Math.sin(t), 90 * Math.cos(t));
const dip = (r: number, t: number) => (t < 0 ? Math.atan2(-Math.sin(t) / 90, Math.cos(t) / r) / DEGREE : 0);

/** dL up a half-meridian from z to z of an ellipse, with the dip correction of the design, by Simpson. */
function gain(r: number, elevation: number, fromZ: number, toZ: number): number {
  const effective = (t: number) => elevation + dip(r, t) * Math.max(0, 1 - elevation / 90);
  return simpson((t) => cos(effective(t)) * arcPer(r, t), Math.asin(fromZ / 90), Math.asin(toZ / 90));
}

/** Where the neck's cylinder comes out of the cranium in the direction az, by bisection on the two radii. */
function neckJoin(az: number): { z: number; cranium: number } {
  const cranium = 1 / Math.hypot(Math.sin(az) / 75, Math.cos(az) / 95);
  let low = -89.9;
  let high = -50;
  const out = (z: number) => head.surface.radiusAt(az, z) - cranium * Math.sqrt(1 - (z / 90) ** 2) > 1e-9;
  for (let i = 0; i < 30; i += 1) {
    const z = (low + high) / 2;
    if (out(z)) low = z;
    else high = z;
  }
  return { z: (low + high) / 2, cranium };
}

/** Length from a guide of `guideMm` along z = -100 all round: down each root's own fall line, below the equator by Simpson. */
function lengthsFromLevelGuide(elevation: number, guideMm: number): Float32Array {
  return Float32Array.from({ length: head.roots.count }, (_, root) => {
    const last = fall.start[root + 1]! - 1;
    const az = Math.atan2(fall.points[3 * last]!, fall.points[3 * last + 1]!);
    const z = fall.points[3 * last + 2]!;
    const join = neckJoin(az);
    const onNeck = Math.min(z, join.z) + 100;
    const onCranium = z > join.z ? gain(join.cranium, elevation, join.z, z) : 0;
    return Math.max(0, guideMm + cos(elevation) * (fall.arcMm[last]! + onNeck) + onCranium);
  });
}

describe('share of the hair in the fullest 10 mm, behind the ears (engine design, prototype)', () => {
  const behind = Float64Array.from(head.roots.areaMm2, (area, i) =>
    Math.abs(Math.atan2(head.roots.position[3 * i]!, head.roots.position[3 * i + 1]!)) > 105 * DEGREE
      ? area
      : 0,
  );
  it.each([
    { elevation: 0, guideMm: 100, share: 1, tolerance: 1e-6 },
    { elevation: 30, guideMm: 100, share: 0.417, tolerance: 0.006 },
    { elevation: 45, guideMm: 100, share: 0.204, tolerance: 0.006 },
    { elevation: 60, guideMm: 100, share: 0.12, tolerance: 0.006 },
    { elevation: 90, guideMm: 100, share: 0.062, tolerance: 0.003 },
    // A guide of 100 runs out of hair half-way up; long enough to reach the top it spreads the ends twice as wide.
    { elevation: 180, guideMm: 300, share: 0.03, tolerance: 0.003 },
  ])('horizontal sections at $elevation degrees: $share', ({ elevation, guideMm, share, tolerance }) => {
    const { tipsMm } = hairShape(head, fall, lengthsFromLevelGuide(elevation, guideMm));
    const window = weightWindow(
      tipsMm.filter((_, i) => i % 3 === 2),
      behind,
    );
    expect(Math.abs(window.share10 - share)).toBeLessThanOrEqual(tolerance);
  });
});

describe('share on the upper half of a ball, R = 88: sin(10 / (R (1 - cos e))) (closed form)', () => {
  let back: ReturnType<typeof backOfBall>;
  it.each([
    { elevation: 30, share: 0.75 },
    { elevation: 45, share: 0.378 },
    { elevation: 60, share: 0.225 },
    { elevation: 90, share: 0.113 },
  ])('$elevation degrees: $share', ({ elevation, share }) => {
    back ??= backOfBall(88);
    const { ball, table } = back;
    const shape = hairShape(
      ball,
      table,
      Float32Array.from(
        ball.roots.areaMm2,
        (_, i) => 100 + cos(elevation) * table.arcMm[table.start[i + 1]! - 1]!,
      ),
    );
    const exact = Math.sin(10 / (88 * (1 - cos(elevation))));
    expect(exact).toBeCloseTo(share, 3);
    expect(weightWindowOf(shape, ZONES).share10).toBeCloseTo(exact, 1.9);
  });
});

describe('graduated back, nape 20 at z = -100, up to z = -15 (engine design)', () => {
  // The neck comes out of the cranium where 95 sqrt(1 - z²/90²) = 58.
  const joinZ = -90 * Math.sqrt(1 - (58 / 95) ** 2);
  it.each([
    { elevation: 45, lengthMm: 73.1, lineZ: -88.1 },
    { elevation: 60, lengthMm: 56.8, lineZ: -71.8 },
    { elevation: 75, lengthMm: 38.8, lineZ: -53.8 },
    { elevation: 85, lengthMm: 26.3, lineZ: -41.3 },
  ])('$elevation degrees: $lengthMm long, line at $lineZ', ({ elevation, lengthMm, lineZ }) => {
    const back = { napeLengthMm: 20, fromZMm: -100, toZMm: -15, elevationDeg: elevation };
    const top = graduationTopLengthMm(head, back);
    const exact = 20 + cos(elevation) * (100 + joinZ) + gain(95, elevation, joinZ, -15);
    expect(Math.abs(top - exact)).toBeLessThan(0.02);
    // The prototype's printed figure stands 0.2 above the integral at 45 degrees, less elsewhere.
    expect(Math.abs(top - lengthMm)).toBeLessThan(0.25);
    expect(Math.abs(graduationWeightLineMm(head, back) - lineZ)).toBeLessThan(0.25);
  });

  it('is reported from its top, before the fullest window', () => {
    const shape = hairShape(head, fall, lengthsFromLevelGuide(60, 20));
    const back = { napeLengthMm: 20, fromZMm: -100, toZMm: -15, elevationDeg: 60 };
    const line = weightLine(weightWindowOf(shape), {
      zTopMm: -15,
      lengthMm: graduationTopLengthMm(head, back),
    });
    expect(line.kind).toBe('graduation');
    expect(line.lineZMm).toBeCloseTo(-71.7, 0.5);
  });
});

describe('growth at 0.35 mm/day (design, reference rate)', () => {
  const oneLength = lengthsFromLevelGuide(0, 100);

  it('drops free tips and the weight line by 14.7 mm in six weeks', () => {
    const today = hairShape(head, fall, oneLength);
    const later = growShape(today, reference, 42);
    for (let i = 2; i < today.tipsMm.length; i += 3)
      expect(today.tipsMm[i]! - later.tipsMm[i]!).toBeCloseTo(14.7, 3);
    const drop = weightLine(weightWindowOf(today)).lineZMm! - weightLine(weightWindowOf(later)).lineZMm!;
    expect(drop).toBeCloseTo(14.7, 0.9);
  });

  it('brings a fringe cut at the brow to the lid crease in 14 days and to the lid margin in 37', () => {
    const brow = { z0Mm: head.landmarks.brow.z, forward: 0, right: 0 };
    const shape = hairShape(
      head,
      fall,
      Float32Array.from(oneLength, (_, i) => Math.max(0, arcToPlane(fall, i, brow))),
    );
    const read = Object.fromEntries(
      landmarkReadings(shape)
        .filter(({ zone }) => zone === 'fringe')
        .map(({ landmark, growthMm }) => [landmark, growthMm]),
    );
    expect(read['brow']).toBeCloseTo(0, 3);
    expect(read['upper-lid']).toBeCloseTo(13, 3);
    expect(Math.round(read['upper-lid']! / 0.35)).toBe(37);
    expect(Math.round(read['lid-crease']! / 0.35)).toBe(14);
  });

  it('doubles a 6 mm nape in 17 days and a 3 mm one in 8.6 (arithmetic)', () => {
    expect(Math.round(daysToMultiply(6, 0.35))).toBe(17);
    expect(daysToMultiply(3, 0.35)).toBeCloseTo(8.6, 1);
  });
});

/** The back half of a ball's upper half, its hair combed from the apex: straight down the meridians. */
function backOfBall(radiusMm: number): { ball: Head; table: FallTable } {
  const points: number[] = [];
  const COUNT = 20_000;
  for (let i = 0; i < COUNT; i += 1) {
    const z = (i + 0.5) / COUNT;
    const az = 2 * Math.PI * (((i + 0.5) * (Math.sqrt(5) - 1)) / 2);
    const r = Math.sqrt(1 - z * z);
    if (Math.cos(az) < 0) points.push(r * Math.sin(az), r * Math.cos(az), z);
  }
  const normal = Float64Array.from(points);
  const roots: Roots = {
    count: points.length / 3,
    position: normal.map((part) => part * radiusMm),
    normal,
    areaMm2: new Float64Array(points.length / 3).fill(1),
    zone: new Uint8Array(points.length / 3).fill(ZONES.indexOf('back')),
  };
  const comb = { whorl: { x: 0, y: 0, z: radiusMm }, partingXMm: undefined, scale: 1 };
  const ball = { ...head, surface: sphereSurface(radiusMm), roots, comb };
  return { ball, table: buildFallTable(ball) };
}
