import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { buildFallTable, pointAlong } from './fall.js';
import { evenRates } from './grow.js';
import { growShape, hairShape } from './tips.js';

const head = buildHead({ rootCount: 200 });
const fall = buildFallTable(head);
const even = (lengthMm: number) => new Float32Array(fall.count).fill(lengthMm);

describe('hairShape', () => {
  it('has its tips where the strands end', () => {
    const { tipsMm } = hairShape(
      head,
      fall,
      even(0).map((_, root) => root % 150),
    );
    const tip = new Float32Array(3);
    let apart = 0;
    for (let root = 0; root < fall.count; root += 1) {
      pointAlong(fall, root, root % 150, tip);
      for (let axis = 0; axis < 3; axis += 1) {
        apart = Math.max(apart, Math.abs(tipsMm[3 * root + axis]! - tip[axis]!));
      }
    }
    expect(tipsMm).toHaveLength(3 * fall.count);
    expect(apart).toBe(0);
  });

  it('takes hair of 0 to 2000 mm', () => {
    expect(hairShape(head, fall, even(0)).lengthsMm[0]).toBe(0);
    expect(hairShape(head, fall, even(2000)).lengthsMm[0]).toBe(2000);
  });

  it.each([
    { lengthMm: Number.NaN, code: 'ENGINE.NOT_A_NUMBER' },
    { lengthMm: -0.1, code: 'ENGINE.OUT_OF_RANGE' },
    { lengthMm: 2000.1, code: 'ENGINE.OUT_OF_RANGE' },
  ])('refuses $lengthMm and says at which root', ({ lengthMm, code }) => {
    const lengths = even(50);
    lengths[7] = lengthMm;
    expect(() => hairShape(head, fall, lengths)).toThrow(
      expect.objectContaining({
        code,
        field: 'lengthsMm[7]',
        message: 'The length at root 7 must lie between 0 and 2000 mm.',
      }),
    );
  });

  it('refuses the last root’s as well as the first’s', () => {
    const lengths = even(50);
    lengths[lengths.length - 1] = -1;
    expect(() => hairShape(head, fall, lengths)).toThrow(
      expect.objectContaining({ field: `lengthsMm[${lengths.length - 1}]` }),
    );
  });

  it.each([
    { name: 'too few lengths', lengths: even(5).slice(1), on: head },
    { name: 'a table of another head', lengths: even(5), on: buildHead({ rootCount: 300 }) },
  ])('refuses $name', ({ lengths, on }) => {
    expect(() => hairShape(on, fall, lengths)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.OUT_OF_RANGE',
        field: 'lengthsMm',
        message: `lengthsMm must hold ${fall.count} lengths, one per root.`,
      }),
    );
  });
});

describe('growShape', () => {
  it('lowers a free tip by what has grown and leaves the shape before as it was', () => {
    const today = hairShape(head, fall, even(400));
    const later = growShape(today, evenRates(0.35), 42);
    // 400 mm hang free everywhere: no path over the head is as long. 42 days at 0.35 mm are 14.7 mm.
    for (const root of [0, 7, fall.count - 1]) {
      expect(today.tipsMm[3 * root + 2]! - later.tipsMm[3 * root + 2]!).toBeCloseTo(14.7, 3);
      expect(later.tipsMm[3 * root]).toBe(today.tipsMm[3 * root]);
    }
    expect(today.lengthsMm[0]).toBe(400);
  });

  it('grows every zone at its own rate', () => {
    const today = hairShape(head, fall, even(10));
    const root = head.roots.zone.indexOf(6);
    const other = head.roots.zone.indexOf(0);
    const { lengthsMm } = growShape(today, { ...evenRates(0), nape: 0.5 }, 20);
    expect([lengthsMm[root], lengthsMm[other]]).toEqual([20, 10]);
  });

  it('refuses to grow hair past 2 m', () => {
    expect(() => growShape(hairShape(head, fall, even(1999)), evenRates(1), 2)).toThrow(
      expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field: 'lengthsMm[0]' }),
    );
  });
});
