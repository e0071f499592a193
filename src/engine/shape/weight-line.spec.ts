import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { weightLine, weightWindow } from './weight-line.js';

describe('weightWindow', () => {
  it('finds all of a blunt line', () => {
    const found = weightWindow([-100, -100, -100], [1, 2, 3]);
    expect(found.share10).toBe(1);
    expect(found.zMm).toBeCloseTo(-100, 0);
  });

  it('weighs by hair, not by count of tips', () => {
    const found = weightWindow([-100, -101, -102, -50], [1, 1, 1, 9]);
    expect(found.share10).toBeCloseTo(0.75, 12);
    expect(found.zMm).toBeCloseTo(-50, 0);
  });

  it('holds a tenth of what is spread evenly over 100 mm', () => {
    const tips = Array.from({ length: 10_001 }, (_, i) => -i / 100);
    expect(
      weightWindow(
        tips,
        tips.map(() => 1),
      ).share10,
    ).toBeCloseTo(0.1, 2);
  });

  it('sees a spread of the ends as less weight in the window', () => {
    const tips = [-100, -100, -100];
    expect(weightWindow(tips, [1, 1, 1], 40 / Math.sqrt(12)).share10).toBeCloseTo(0.25, 2);
    expect(weightWindow(tips, [1, 1, 1], [0, 0, 40 / Math.sqrt(12)]).share10).toBeCloseTo(0.75, 2);
  });

  it('agrees with a plain search over every window that starts at a tip', () => {
    const tip = fc.record({
      z: fc.double({ min: -300, max: 90, noNaN: true }),
      weight: fc.double({ min: 0.1, max: 20, noNaN: true }),
    });
    fc.assert(
      fc.property(fc.array(tip, { minLength: 1, maxLength: 60 }), (tips) => {
        const total = tips.reduce((sum, { weight }) => sum + weight, 0);
        const held = (low: number, highMm: number) =>
          tips.reduce((sum, { z, weight }) => (z >= low && z <= highMm ? sum + weight : sum), 0) / total;
        const { share10 } = weightWindow(
          tips.map(({ z }) => z),
          tips.map(({ weight }) => weight),
        );
        // Binned to 0.1 mm: never more than a window 0.2 mm wider could hold, never less than one 0.2 mm narrower.
        expect(share10).toBeLessThanOrEqual(Math.max(...tips.map(({ z }) => held(z, z + 10.2))) + 1e-9);
        expect(share10).toBeGreaterThanOrEqual(Math.max(...tips.map(({ z }) => held(z, z + 9.8))) - 1e-9);
      }),
      { numRuns: 200 },
    );
  });

  it('refuses what is not a number and what is not there', () => {
    expect(() => weightWindow([Number.NaN], [1])).toThrow(
      expect.objectContaining({ code: 'ENGINE.NOT_A_NUMBER' }),
    );
    expect(() => weightWindow([1, 2], [1])).toThrow(expect.objectContaining({ field: 'weight' }));
    expect(() => weightWindow([1], [1], -3)).toThrow(expect.objectContaining({ field: 'spreadMm' }));
    expect(() => weightWindow([1], [0])).toThrow(expect.objectContaining({ code: 'ENGINE.IMPOSSIBLE' }));
  });
});

describe('weightLine', () => {
  const clear = weightWindow([-100, -100], [1, 1]);
  const even = weightWindow(
    Array.from({ length: 200 }, (_, i) => -i),
    Array.from({ length: 200 }, () => 1),
  );

  it('reads a graduated back from the top of its graduation first', () => {
    expect(weightLine(clear, { zTopMm: -15, lengthMm: 56.8 })).toMatchObject({
      kind: 'graduation',
      lineZMm: -71.8,
    });
  });

  it('reads the fullest window otherwise', () => {
    expect(weightLine(clear)).toMatchObject({ kind: 'window', share10: 1 });
  });

  it('says that even layers have no weight line', () => {
    expect(weightLine(even)).toMatchObject({ kind: 'none', lineZMm: null });
  });
});
