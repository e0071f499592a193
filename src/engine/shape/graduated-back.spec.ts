import { describe, expect, it } from '@jest/globals';
import { buildHead, sphereSurface } from '../head/index.js';
import { graduationTopLengthMm, graduationWeightLineMm } from './graduated-back.js';

const RADIANS = Math.PI / 180;
const R = 90;
const ball = { ...buildHead({ rootCount: 200 }), surface: sphereSurface(R) };
const at = (fromZMm: number, toZMm: number, elevationDeg: number) =>
  graduationTopLengthMm(ball, { napeLengthMm: 20, fromZMm, toZMm, elevationDeg });
/** Angle from the equator of a height on the ball. */
const angle = (z: number) => Math.asin(z / R);

/*
 * On a ball the dip of the normal below the equator is the angle from it: with dL = cos(e_eff) ds, ds = R dt, e_eff =
 * e + t (1 - e/90) below the equator and e above it, all in closed form.
 */
describe('graduation on a ball (closed form)', () => {
  it.each([0, 30, 60, 90, 120])('above the equator: cos(e) times the arc, at %d degrees', (e) => {
    const exact = 20 + Math.cos(e * RADIANS) * R * (angle(80) - angle(10));
    expect(at(10, 80, e)).toBeCloseTo(Math.max(0, exact), 2);
  });

  it('reaches the apex: a quarter of the circle', () => {
    expect(at(0, 90, 0)).toBeCloseTo(20 + (R * Math.PI) / 2, 1);
  });

  it('in natural fall below the equator: just the height climbed', () => {
    // Integral of cos t R dt = R sin t, which is the height.
    expect(at(-80, 0, 0)).toBeCloseTo(20 + 80, 3);
    expect(at(-80, -30, 0)).toBeCloseTo(20 + 50, 3);
  });

  it('at 45 degrees below the equator: 2 R (sin(45° + t/2) - sin 45°) for the angle t of the lowest section', () => {
    const t = -angle(-70);
    expect(at(-70, 0, 45)).toBeCloseTo(20 + 2 * R * (Math.sin(45 * RADIANS + t / 2) - Math.SQRT1_2), 3);
  });

  it('at 90 degrees and more the dip counts no longer', () => {
    expect(at(-70, 0, 90)).toBeCloseTo(20, 6);
    expect(at(-30, 0, 100)).toBeCloseTo(20 + Math.cos(100 * RADIANS) * R * -angle(-30), 3);
  });

  it('is the length at the nape where top and bottom are one, and its line lies that far below', () => {
    const back = { napeLengthMm: 20, fromZMm: -50, toZMm: -50, elevationDeg: 45 };
    expect(graduationTopLengthMm(ball, back)).toBe(20);
    expect(graduationWeightLineMm(ball, back)).toBe(-70);
  });

  it.each([
    { change: { napeLengthMm: 2000.1 }, field: 'napeLengthMm', code: 'ENGINE.OUT_OF_RANGE' },
    { change: { fromZMm: Number.NaN }, field: 'fromZMm', code: 'ENGINE.NOT_A_NUMBER' },
    { change: { fromZMm: -180.1 }, field: 'fromZMm', code: 'ENGINE.OUT_OF_RANGE' },
    { change: { toZMm: 90.1 }, field: 'toZMm', code: 'ENGINE.OUT_OF_RANGE' },
    { change: { elevationDeg: -1 }, field: 'elevationDeg', code: 'ENGINE.OUT_OF_RANGE' },
  ])('refuses $change', ({ change, field, code }) => {
    const back = { napeLengthMm: 20, fromZMm: -50, toZMm: 0, elevationDeg: 45, ...change };
    expect(() => graduationTopLengthMm(ball, back)).toThrow(expect.objectContaining({ code, field }));
  });

  it('refuses a top below the lowest section, and says so', () => {
    expect(() => at(0, -1, 45)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'toZMm',
        message: 'The top of a graduation lies above its lowest section.',
      }),
    );
  });
});
