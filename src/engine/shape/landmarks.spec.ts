import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { ZONES } from '../zones.js';
import { arcToPlane, buildFallTable } from './fall.js';
import { evenRates } from './grow.js';
import { landmarkReadings, type ReadLandmark } from './landmarks.js';
import { growShape, type HairShape, hairShape } from './tips.js';

const head = buildHead({ rootCount: 1000 });
const fall = buildFallTable(head);

/** All hair cut to a level line as it falls. */
function cutAt(zMm: number): HairShape {
  const plane = { z0Mm: zMm, forward: 0, right: 0 };
  return hairShape(
    head,
    fall,
    Float32Array.from({ length: fall.count }, (_, root) => Math.max(0, arcToPlane(fall, root, plane))),
  );
}

const reading = (shape: HairShape, zone: string, landmark: ReadLandmark) =>
  landmarkReadings(shape).find((one) => one.zone === zone && one.landmark === landmark);

describe('landmarkReadings', () => {
  it('reads a level line against every landmark', () => {
    const shape = cutAt(-30);
    expect(reading(shape, 'fringe', 'brow')?.aboveMm).toBeCloseTo(-23, 3);
    expect(reading(shape, 'fringe', 'upper-lid')?.aboveMm).toBeCloseTo(-10, 3);
    expect(reading(shape, 'left-side', 'ear-canal')?.aboveMm).toBeCloseTo(8, 3);
    expect(reading(shape, 'right-side', 'ear-canal')?.growthMm).toBeCloseTo(8, 3);
    expect(reading(shape, 'back', 'nape-hairline')?.aboveMm).toBeCloseTo(70, 3);
    expect(reading(shape, 'back', 'collar')?.aboveMm).toBeCloseTo(110, 3);
  });

  it('says how much growth brings the ends to a landmark: that much later they are there', () => {
    const short = hairShape(head, fall, new Float32Array(fall.count).fill(30));
    for (const { zone, landmark, growthMm } of landmarkReadings(short).filter((one) => one.growthMm > 0)) {
      const there = growShape(short, evenRates(1), growthMm);
      expect(reading(there, zone, landmark)?.aboveMm).toBeCloseTo(0, 1);
    }
  });

  it('takes a collar of its own', () => {
    const collar = landmarkReadings(cutAt(-30), 60).find((one) => one.landmark === 'collar');
    expect(collar?.aboveMm).toBeCloseTo(130, 3);
    expect(() => landmarkReadings(cutAt(-30), Number.NaN)).toThrow(
      expect.objectContaining({ code: 'ENGINE.NOT_A_NUMBER', field: 'collarBelowNapeMm' }),
    );
  });

  it('lets single long hairs pass: a tenth of the hair must have arrived', () => {
    const shape = cutAt(-30);
    const one = ZONES.indexOf('fringe');
    const root = head.roots.zone.indexOf(one);
    const straggler = shape.lengthsMm.slice();
    straggler[root] = straggler[root]! + 80;
    expect(reading(hairShape(head, fall, straggler), 'fringe', 'brow')?.aboveMm).toBeCloseTo(-23, 1);
  });
});
