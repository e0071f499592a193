import { describe, expect, it } from '@jest/globals';
import { ZONES, type Zone } from '../zones.js';
import { type LandmarkReading, landmarkReadings } from './landmarks.js';
import type { HairShape } from './tips.js';

interface Root {
  readonly zone: Zone;
  readonly at: readonly [number, number, number];
  readonly mm: number;
  readonly areaMm2?: number;
}

/** Roots below the equator, where hair hangs straight down: its end lies at z less the length. */
function shapeOf(roots: readonly Root[], scale = 1): HairShape {
  const count = roots.length;
  return {
    head: {
      scale,
      landmarks: {
        brow: { z: -7 },
        lidCrease: { z: -12 },
        upperLid: { z: -20 },
        tragionLeft: { y: 3, z: -38 },
        tragionRight: { y: 3, z: -39 },
        nape: { z: -100 },
      },
      roots: {
        count,
        zone: Uint8Array.from(roots, ({ zone }) => ZONES.indexOf(zone)),
        areaMm2: Float64Array.from(roots, ({ areaMm2 = 1 }) => areaMm2),
      },
    },
    fall: {
      count,
      start: Uint32Array.from({ length: count + 1 }, (_, i) => i),
      points: Float32Array.from(roots.flatMap(({ at }) => at)),
      arcMm: new Float32Array(count),
      stepMm: 3,
    },
    lengthsMm: Float32Array.from(roots, ({ mm }) => mm),
    tipsMm: Float32Array.from(roots.flatMap(({ at: [x, y, z], mm }) => [x, y, z - mm])),
  } as unknown as HairShape;
}
const asked = (root: Root, scale?: number) => landmarkReadings(shapeOf([root], scale)).length > 0;
const fringe = { zone: 'fringe', mm: 10 } as const;
const side = { zone: 'left-side', mm: 10 } as const;
const nape = { zone: 'nape', mm: 10 } as const;

describe('landmarkReadings by hand', () => {
  it('asks every zone for its own landmarks, in the order fringe, sides, behind', () => {
    const at = (zone: Zone, [x, y, z]: Root['at'], mm: number): Root => ({ zone, at: [x, y, z], mm });
    const read = landmarkReadings(
      shapeOf([
        at('nape', [0, -58, -95], 10),
        at('back', [0, -80, -40], 30),
        at('right-side', [70, 3, -20], 10),
        at('left-side', [-70, 3, -20], 14),
        at('fringe', [0, 80, -2], 8),
        at('top', [0, 80, -2], 8),
      ]),
    );
    const one = (zone: Zone, landmark: LandmarkReading['landmark'], mm: number): LandmarkReading => ({
      zone,
      landmark,
      aboveMm: mm,
      growthMm: mm,
    });
    // The fringe ends at -10, the left side at -34, the right at -30, the back at -70, the nape at -105; the collar is at -140.
    expect(read).toEqual([
      one('fringe', 'brow', -3),
      one('fringe', 'lid-crease', 2),
      one('fringe', 'upper-lid', 10),
      one('left-side', 'ear-canal', 4),
      one('right-side', 'ear-canal', 9),
      one('back', 'nape-hairline', 30),
      one('nape', 'nape-hairline', -5),
      one('back', 'collar', 70),
      one('nape', 'collar', 35),
    ]);
  });

  it.each([
    { x: 40, y: 80, scale: 1, counts: true },
    { x: -40, y: 80, scale: 1, counts: true },
    { x: 40.1, y: 80, scale: 1, counts: false },
    { x: -40.1, y: 80, scale: 1, counts: false },
    { x: 43, y: 80, scale: 1.1, counts: true },
    { x: 0, y: -1, scale: 1, counts: false },
    { x: 0, y: 0, scale: 1, counts: false },
  ])('a fringe hangs before the eyes within 40 mm of the middle: $x, $y at $scale', (one) => {
    expect(asked({ ...fringe, at: [one.x, one.y, -2] }, one.scale)).toBe(one.counts);
  });

  it.each([
    { y: 18, scale: 1, counts: true },
    { y: -12, scale: 1, counts: true },
    { y: 18.1, scale: 1, counts: false },
    { y: -12.1, scale: 1, counts: false },
    { y: 19, scale: 1.1, counts: true },
  ])('a side hangs over the ear within 15 mm of its canal: $y at $scale', (one) => {
    expect(asked({ ...side, at: [-70, one.y, -20] }, one.scale)).toBe(one.counts);
  });

  it.each([
    { degrees: 150.1, counts: true },
    { degrees: -150.1, counts: true },
    { degrees: 149.9, counts: false },
    { degrees: -149.9, counts: false },
  ])('behind is from 150 degrees round: $degrees', ({ degrees, counts }) => {
    const az = (degrees * Math.PI) / 180;
    expect(asked({ ...nape, at: [60 * Math.sin(az), 60 * Math.cos(az), -95] })).toBe(counts);
  });

  it('passes over bare skin', () => {
    expect(asked({ ...nape, mm: 0, at: [0, -58, -95] })).toBe(false);
  });

  it('reads where a tenth of the hair, by area, has arrived', () => {
    const root = (mm: number, areaMm2: number): Root => ({ ...nape, at: [0, -58, -90], mm, areaMm2 });
    const above = (...roots: Root[]) => landmarkReadings(shapeOf(roots))[0]!.aboveMm;
    // Ends at -130 and -110, the nape hairline at -100.
    expect(above(root(40, 1), root(20, 9))).toBe(-30);
    expect(above(root(40, 1), root(20, 9.5))).toBe(-10);
  });

  it.each([0, 150])('takes a collar %d mm below the nape', (mm) => {
    const read = landmarkReadings(shapeOf([{ ...nape, at: [0, -58, -95] }]), mm);
    // The end at -105.
    expect(read[1]).toMatchObject({ landmark: 'collar', aboveMm: -5 + mm });
  });

  it.each([-0.1, 150.1])('refuses a collar at %d mm', (mm) => {
    expect(() => landmarkReadings(shapeOf([]), mm)).toThrow(
      expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field: 'collarBelowNapeMm' }),
    );
  });
});
