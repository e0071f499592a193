import { describe, expect, it } from '@jest/globals';
import { ZONES, type Zone } from '../zones.js';
import type { HairShape } from './tips.js';
import { weightLine, weightWindow, weightWindowOf } from './weight-line.js';

describe('weightWindow by hand', () => {
  it('is the 10 mm that hold most, and the weighted middle of what ends in them', () => {
    // Sorted into tenths from 0 on: 0, 50, 99 and 200. The first three share 0 to 10: 4 of 7.
    const found = weightWindow([9.95, 0, 20, 5], [1, 1, 3, 2]);
    expect(found.share10).toBeCloseTo(4 / 7, 12);
    expect(found.lowMm).toBe(0);
    expect(found.highMm).toBe(10);
    // Middles of the tenths: (0.05 + 2 · 5.05 + 9.95) / 4.
    expect(found.zMm).toBeCloseTo(5.025, 9);
  });

  it('leaves out of the middle what ends just below', () => {
    // From 10.1 to 20.1 end 10 of 12; what ends at 10.05 is not among them.
    const found = weightWindow([0, 10.05, 10.15, 20.05], [1, 1, 5, 5]);
    expect(found.share10).toBeCloseTo(10 / 12, 12);
    expect(found.zMm).toBeCloseTo((10.15 + 20.05) / 2, 9);
  });

  it('counts what ends 10 mm higher to the next window', () => {
    expect(weightWindow([0, 10.05], [1, 1]).share10).toBe(0.5);
    expect(weightWindow([0, 9.95], [1, 1]).share10).toBe(1);
  });

  it('takes the lower of two that hold the same', () => {
    expect(weightWindow([30, 0], [1, 1])).toMatchObject({ lowMm: -9.9, share10: 0.5 });
    expect(weightWindow([30, 0], [1, 1]).zMm).toBeCloseTo(0.05, 9);
  });

  it('spreads a root’s ends evenly upwards over √12 standard deviations', () => {
    // From 0 to 20 mm are 201 tenths, of which 100 make a window.
    const found = weightWindow([0], [5], 20 / Math.sqrt(12) + 1e-9);
    expect(found.share10).toBeCloseTo(100 / 201, 9);
    expect(found.lowMm).toBeCloseTo(0, 9);
    expect(found.zMm).toBeCloseTo(5, 9);
  });

  it('spreads each root by its own figure, those without one not at all', () => {
    // The second stays whole at 100.
    const found = weightWindow([0, 100], [1, 1], [40 / Math.sqrt(12)]);
    expect(found.share10).toBeCloseTo(0.5, 9);
    expect(found.highMm).toBeCloseTo(100.1, 9);
  });

  it('passes over what has no weight, whatever is written there', () => {
    expect(weightWindow([Number.NaN, 3, -900], [0, 1, 0])).toMatchObject({ share10: 1, highMm: 3.1 });
  });

  it.each<{ args: Parameters<typeof weightWindow>; code: string; field: string }>([
    { args: [[3000.1], [1]], code: 'ENGINE.OUT_OF_RANGE', field: 'tipZMm' },
    { args: [[-3000.1], [1]], code: 'ENGINE.OUT_OF_RANGE', field: 'tipZMm' },
    { args: [[Number.NaN], [1]], code: 'ENGINE.NOT_A_NUMBER', field: 'tipZMm' },
    { args: [[1], [-1]], code: 'ENGINE.OUT_OF_RANGE', field: 'weight' },
    { args: [[1], [1], -0.1], code: 'ENGINE.OUT_OF_RANGE', field: 'spreadMm' },
    { args: [[1], [1], [Number.NaN]], code: 'ENGINE.NOT_A_NUMBER', field: 'spreadMm' },
  ])('refuses $args', ({ args, code, field }) => {
    expect(() => weightWindow(...args)).toThrow(expect.objectContaining({ code, field }));
  });

  it('says that there is nothing to weigh', () => {
    expect(() => weightWindow([], [])).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'weight',
        message: 'There is no hair here to find a line in.',
      }),
    );
  });
});

/** As much of a shape as is asked: zone, height of the tip, length and area of every root. */
function shapeOf(roots: readonly { zone: Zone; z: number; mm?: number; areaMm2?: number }[]): HairShape {
  return {
    head: {
      roots: {
        count: roots.length,
        zone: Uint8Array.from(roots, ({ zone }) => ZONES.indexOf(zone)),
        areaMm2: Float64Array.from(roots, ({ areaMm2 = 1 }) => areaMm2),
      },
    },
    lengthsMm: Float32Array.from(roots, ({ mm = 50 }) => mm),
    tipsMm: Float32Array.from(roots.flatMap(({ z }) => [1, 2, z])),
  } as unknown as HairShape;
}

describe('weightWindowOf', () => {
  it('weighs crown, back and nape by area unless others are named', () => {
    const shape = shapeOf([
      { zone: 'crown', z: -50, areaMm2: 2 },
      { zone: 'back', z: -52 },
      { zone: 'nape', z: -90 },
      { zone: 'fringe', z: -90, areaMm2: 50 },
    ]);
    expect(weightWindowOf(shape).share10).toBe(0.75);
    expect(weightWindowOf(shape, ['nape', 'fringe'])).toMatchObject({ share10: 1 });
    expect(weightWindowOf(shape, ['nape', 'fringe']).zMm).toBeCloseTo(-89.95, 5);
  });

  it('leaves bare skin out', () => {
    const shape = shapeOf([
      { zone: 'back', z: -10, mm: 0, areaMm2: 9 },
      { zone: 'back', z: -52 },
    ]);
    expect(weightWindowOf(shape).zMm).toBeCloseTo(-51.95, 5);
  });

  it('has no share where zones are bare or named none', () => {
    const none = { zMm: 0, lowMm: 0, highMm: 0, share10: 0 };
    expect(weightWindowOf(shapeOf([{ zone: 'back', z: -10, mm: 0 }]))).toEqual(none);
    expect(weightWindowOf(shapeOf([{ zone: 'back', z: -10 }]), [])).toEqual(none);
  });

  it('spreads the ends as asked', () => {
    // Over 20 mm: 100 of 201 tenths.
    expect(
      weightWindowOf(shapeOf([{ zone: 'back', z: 0 }]), ['back'], 20 / Math.sqrt(12) + 1e-9).share10,
    ).toBeCloseTo(100 / 201, 9);
  });
});

describe('weightLine', () => {
  const window = { zMm: -40, lowMm: -45, highMm: -35, share10: 0.15 };

  it('shows from a share of 0.15 on, where the middle of the window is', () => {
    expect(weightLine(window)).toEqual({ ...window, kind: 'window', lineZMm: -40 });
    const less = { ...window, share10: 0.1499 };
    expect(weightLine(less)).toEqual({ ...less, kind: 'none', lineZMm: null });
  });

  it('of a graduation is its top less the length there, even where ends are spread', () => {
    const less = { ...window, share10: 0.1 };
    expect(weightLine(less, { zTopMm: -15, lengthMm: 38 })).toEqual({
      ...less,
      kind: 'graduation',
      lineZMm: -53,
    });
  });

  it.each([
    { top: { zTopMm: Number.NaN, lengthMm: 10 }, field: 'zTopMm' },
    { top: { zTopMm: -3001, lengthMm: 10 }, field: 'zTopMm' },
    { top: { zTopMm: 3001, lengthMm: 10 }, field: 'zTopMm' },
    { top: { zTopMm: 0, lengthMm: -1 }, field: 'lengthMm' },
    { top: { zTopMm: 0, lengthMm: 3001 }, field: 'lengthMm' },
  ])('refuses a top of $top', ({ top, field }) => {
    expect(() => weightLine(window, top)).toThrow(expect.objectContaining({ field }));
  });
});
