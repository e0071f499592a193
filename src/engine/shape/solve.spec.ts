import { describe, expect, it } from '@jest/globals';
import { cutHead } from '../cut/index.js';
import { buildHead } from '../head/index.js';
import { ZONES } from '../zones.js';
import { buildFallTable } from './fall.js';
import { graduationTopLengthMm, graduationWeightLineMm } from './graduated-back.js';
import { landmarkReadings } from './landmarks.js';
import { solveElevationDeg, solveEndHeightMm, solveGuideLengthMm } from './solve.js';
import { hairShape } from './tips.js';

const head = buildHead();
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
    expect(() => solveGuideLengthMm(earCanal, 0, { minMm: 9, maxMm: 9 })).toThrow(
      expect.objectContaining({ field: 'bounds' }),
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
