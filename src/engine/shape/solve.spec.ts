import { describe, expect, it } from '@jest/globals';
import { cutHead } from '../cut/index.js';
import { buildHead } from '../head/index.js';
import { ZONES } from '../zones.js';
import { buildFallTable } from './fall.js';
import { graduationTopLengthMm, graduationWeightLineMm } from './graduated-back.js';
import { landmarkReadings } from './landmarks.js';
import { solveElevationDeg, solveEndHeightMm, solveGuideLengthMm } from './solve.js';
import { hairShape } from './tips.js';

const head = buildHead({ rootCount: 400 });
const back = { napeLengthMm: 20, fromZMm: -100, toZMm: -15 };

describe('solving backwards', () => {
  it('finds the elevation of a wanted weight line: 60 degrees for -71.8, 85 for -41.3 (engine design)', () => {
    expect(solveElevationDeg(head, back, -71.8)).toBeCloseTo(60, 0);
    expect(solveElevationDeg(head, back, -41.3)).toBeCloseTo(85, 0);
  });

  it('finds what gives the line back', () => {
    for (const wanted of [-90, -70, -50, -38]) {
      const elevationDeg = solveElevationDeg(head, back, wanted);
      expect(graduationWeightLineMm(head, { ...back, elevationDeg })).toBeCloseTo(wanted, 1);
      const toZMm = solveEndHeightMm(head, { napeLengthMm: 20, fromZMm: -100, elevationDeg: 80 }, wanted);
      expect(
        graduationWeightLineMm(head, { napeLengthMm: 20, fromZMm: -100, elevationDeg: 80, toZMm }),
      ).toBeCloseTo(wanted, 1);
    }
  });

  it('says what is within reach when the line is not', () => {
    expect(() => solveElevationDeg(head, back, 40)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'elevationDeg',
        message: expect.stringContaining('within reach is'),
      }),
    );
    expect(() => solveEndHeightMm(head, { napeLengthMm: 20, fromZMm: -100, elevationDeg: 10 }, -20)).toThrow(
      expect.objectContaining({ code: 'ENGINE.IMPOSSIBLE', field: 'toZMm' }),
    );
  });

  it('finds the length at the guide for a wanted end, by way of the whole cut', () => {
    const fall = buildFallTable(head);
    const earCanal = (lengthMm: number) => {
      const { lengthMm: lengths } = cutHead(head, fall, {
        steps: [{ kind: 'even', zones: ZONES, lengthMm }],
      });
      const reading = landmarkReadings(hairShape(head, fall, lengths)).find(
        ({ zone }) => zone === 'left-side',
      );
      return reading!.aboveMm;
    };
    const guideMm = solveGuideLengthMm(earCanal, -20, { minMm: 5, maxMm: 250 });
    expect(earCanal(guideMm)).toBeCloseTo(-20, 1);
    expect(() => solveGuideLengthMm(earCanal, 200, { minMm: 5, maxMm: 250 })).toThrow(
      expect.objectContaining({ code: 'ENGINE.IMPOSSIBLE', field: 'guideLengthMm' }),
    );
  });
});

describe('solveGuideLengthMm', () => {
  const twice = (lengthMm: number) => 2 * lengthMm;

  it('looks between 0 and 600 mm unless told otherwise, to a hundredth', () => {
    expect(Math.abs(solveGuideLengthMm(twice, 1199.1) - 599.55)).toBeLessThanOrEqual(0.005);
    expect(() => solveGuideLengthMm(twice, 1201)).toThrow(
      'No guideLengthMm between 0 and 600 gives 1201.0; within reach is 0.0 to 1200.0.',
    );
    expect(() => solveGuideLengthMm(twice, 19, { minMm: 10, maxMm: 20 })).toThrow(
      'No guideLengthMm between 10 and 20 gives 19.0; within reach is 20.0 to 40.0.',
    );
  });

  it.each([
    { minMm: 9, maxMm: 9 },
    { minMm: 10, maxMm: 9 },
    { minMm: Number.NaN, maxMm: 9 },
  ])('refuses bounds the wrong way: $minMm to $maxMm', (bounds) => {
    expect(() => solveGuideLengthMm(twice, 18, bounds)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'bounds',
        message: 'The shortest length must lie under the longest.',
      }),
    );
  });
});

describe('graduationTopLengthMm', () => {
  it('never goes under nothing', () => {
    expect(graduationTopLengthMm(head, { ...back, napeLengthMm: 5, elevationDeg: 180 })).toBe(0);
  });

  it('scales with the head', () => {
    const large = buildHead({ circumferenceMm: 616 });
    const times = 1.1;
    const scaled = { napeLengthMm: 22, fromZMm: -110, toZMm: -16.5, elevationDeg: 60 };
    expect(graduationTopLengthMm(large, scaled)).toBeCloseTo(
      times * graduationTopLengthMm(head, { ...back, elevationDeg: 60 }),
      1,
    );
  });

  it.each([
    { change: { elevationDeg: 181 }, field: 'elevationDeg' },
    { change: { napeLengthMm: -1 }, field: 'napeLengthMm' },
    { change: { fromZMm: 0 }, field: 'toZMm' },
    { change: { toZMm: Number.NaN }, field: 'toZMm' },
  ])('refuses $change', ({ change, field }) => {
    expect(() => graduationTopLengthMm(head, { ...back, elevationDeg: 60, ...change })).toThrow(
      expect.objectContaining({ field }),
    );
  });
});
