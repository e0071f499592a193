import { describe, expect, it } from '@jest/globals';
import { CRANIUM, NECK } from './anatomy.js';
import { buildHead, type Landmarks } from './index.js';
import { landmarksOf } from './landmarks.js';
import { CraniumSurface } from './surface.js';

const DEGREE = Math.PI / 180;
const whorl = { x: 0, y: -61, z: 69 };
const at = (scale: number): Landmarks => {
  const { a, b, c } = CRANIUM;
  const { rx, ry, centreY, topZ } = NECK;
  const neck = { rx: rx * scale, ry: ry * scale, centreY: centreY * scale, topZ: topZ * scale };
  return landmarksOf(new CraniumSurface(a * scale, b * scale, c * scale, neck), scale, whorl);
};
/** y of the midline at height z, by the ellipse 95 : 90. */
const midline = (z: number): number => 95 * Math.sqrt(1 - (z / 90) ** 2);

describe('landmarks of the mean head', () => {
  // Heights and given points are the design's.
  it.each([
    ['apex', 0, 0, 90],
    ['whorl', 0, -61, 69],
    ['trichion', 0, midline(49.7), 49.7],
    ['brow', 0, midline(-7), -7],
    ['lidCrease', 0, midline(-12), -12],
    ['upperLid', 0, midline(-20), -20],
    ['tragionLeft', -68, 3, -38],
    ['tragionRight', 68, 3, -38],
    ['mastoidLeft', -56, -18, -58],
    ['mastoidRight', 56, -18, -58],
    ['occipital', 0, -midline(-15), -15],
    ['inion', 0, -midline(-41), -41],
    // on the neck: its middle 4 behind the axis, 54 deep
    ['nape', 0, -58, -100],
  ] as const)('%s', (name, x, y, z) => {
    const found = at(1)[name];
    expect([found.x, found.y, found.z]).toEqual([x, expect.closeTo(y, 9), z]);
  });

  it("are the design's to the rounding it gives them in", () => {
    expect(at(1).trichion.y).toBeCloseTo(79.2, 1);
    expect(at(1).occipital.y).toBeCloseTo(-93.7, 1);
  });

  it('put the ridge where the normal of the coronal ellipse stands 35 degrees up', () => {
    const { ridgeLeft, ridgeRight } = at(1);
    expect(ridgeRight.y).toBe(0);
    expect((ridgeRight.x / 75) ** 2 + (ridgeRight.z / 90) ** 2).toBeCloseTo(1, 12);
    expect(Math.atan2(ridgeRight.z / 90 ** 2, ridgeRight.x / 75 ** 2) / DEGREE).toBeCloseTo(35, 9);
    expect(ridgeLeft).toEqual({ ...ridgeRight, x: -ridgeRight.x });
  });

  it('grow with the head, but for the whorl, which is given on it', () => {
    const mean = at(1);
    for (const [name, point] of Object.entries(at(1.1)) as [keyof Landmarks, Landmarks['apex']][]) {
      const k = name === 'whorl' ? 1 : 1.1;
      expect(point.x).toBeCloseTo(mean[name].x * k, 9);
      expect(point.y).toBeCloseTo(mean[name].y * k, 9);
      expect(point.z).toBeCloseTo(mean[name].z * k, 9);
    }
  });

  it('lie on the surface', () => {
    const { surface, landmarks } = buildHead({ rootCount: 200 });
    for (const [name, { x, y, z }] of Object.entries(landmarks)) {
      // tragion and mastoid are given to the millimetre
      const off = Math.abs(surface.clearanceMm(x, y, z));
      expect({ name, off: off < 3 }).toEqual({ name, off: true });
    }
  });
});
