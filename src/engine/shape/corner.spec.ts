import { describe, expect, it } from '@jest/globals';
import { cornerOverRidge } from './corner.js';

const sin = (degrees: number) => Math.sin((degrees * Math.PI) / 180);
interface Root {
  readonly x?: number;
  readonly y?: number;
  /** Upward part of the normal. */
  readonly nz: number;
  readonly mm: number;
  readonly areaMm2?: number;
}

function read(roots: readonly Root[]) {
  return cornerOverRidge(
    {
      count: roots.length,
      position: roots.flatMap(({ x = 50, y = 0 }) => [x, y, 7]),
      normal: roots.flatMap(({ nz }) => [Math.sqrt(1 - nz * nz), 0, nz]),
      areaMm2: roots.map(({ areaMm2 = 1 }) => areaMm2),
    },
    roots.map(({ mm }) => mm),
  );
}
const top: Root = { nz: 1, mm: 100 };

describe('cornerOverRidge', () => {
  it('takes the mean over the ridge less the mean on top, each weighted by area, the client’s sides apart', () => {
    // Top (3 · 100 + 1 · 60) / 4 = 90; left (120 + 3 · 140) / 4 = 135; right 85.
    expect(
      read([
        { nz: 0.95, mm: 100, areaMm2: 3 },
        { nz: 0.99, mm: 60 },
        { nz: sin(35), mm: 120, x: -50 },
        { nz: sin(40), mm: 140, x: -40, areaMm2: 3 },
        { nz: sin(35), mm: 85 },
      ]),
    ).toEqual({ leftMm: 45, rightMm: -5, left: true, right: false });
  });

  it('sees a corner from 10 mm on', () => {
    const ridge = (mm: number) => [
      { nz: sin(35), mm, x: -50 },
      { nz: sin(35), mm },
    ];
    expect(read([top, ...ridge(110)])).toMatchObject({ left: true, right: true });
    expect(read([top, ...ridge(109.9)])).toMatchObject({ left: false, right: false });
  });

  it.each([
    { nz: sin(25), counts: true },
    { nz: sin(24.9), counts: false },
    { nz: sin(45), counts: true },
    { nz: sin(45.1), counts: false },
    { nz: -sin(35), counts: false },
  ])('the ridge is where the normal stands 25 to 45 degrees up: $nz', ({ nz, counts }) => {
    // One root at the ridge of 120 and one at nz of 160: 20 more than on top, or 40 where both count.
    expect(read([top, { nz: sin(35), mm: 120 }, { nz, mm: 160 }]).rightMm).toBeCloseTo(counts ? 40 : 20, 9);
  });

  it.each([
    { nz: 0.94, mean: 90 },
    { nz: 0.9399, mean: 100 },
  ])('the top is where the normal stands at 0.94 or more: $nz', ({ nz, mean }) => {
    expect(read([top, { nz, mm: 80 }, { nz: sin(35), mm: 200 }]).rightMm).toBeCloseTo(200 - mean, 9);
  });

  it('looks at 45 mm before and behind the middle', () => {
    const ridge = { nz: sin(35), mm: 120 };
    expect(read([top, ridge, { nz: sin(35), mm: 160, y: 45 }]).rightMm).toBe(40);
    expect(read([top, ridge, { nz: sin(35), mm: 160, y: -45 }]).rightMm).toBe(40);
    expect(read([top, ridge, { nz: sin(35), mm: 160, y: 45.1 }]).rightMm).toBe(20);
    expect(read([top, ridge, { nz: sin(35), mm: 160, y: -45.1 }]).rightMm).toBe(20);
  });

  it('finds none where there is nothing to compare, and names a length that is none', () => {
    expect(read([])).toEqual({ leftMm: 0, rightMm: 0, left: false, right: false });
    expect(() => read([top, { nz: sin(35), mm: Number.NaN }])).toThrow(
      expect.objectContaining({ code: 'ENGINE.NOT_A_NUMBER', field: 'lengthsMm[1]' }),
    );
    expect(() => read([{ ...top, mm: -1 }])).toThrow(
      expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field: 'lengthsMm[0]' }),
    );
  });
});
