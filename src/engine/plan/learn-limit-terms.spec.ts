import { describe, expect, it } from '@jest/globals';

import { type HoldLimit, type HoldMark, learnLimit } from './index.js';
import { marginOf } from './margins.js';

const learn = (limit: HoldLimit, state: HoldMark['state'], reached: number, reachedSd = 0) =>
  learnLimit(limit, { state, reached, reachedSd });

/** So vague that within a narrow interval every value is as likely as any other. */
const VAGUE = 500;
const contrast = (
  by: 'difference' | 'ratio',
  value: number,
  sd?: number,
): HoldLimit & { kind: 'contrast' } => ({
  kind: 'contrast',
  zone: 'nape',
  against: 'back',
  by,
  value,
  ...(sd === undefined ? {} : { sd }),
});

describe('learnLimit in the terms of each limit', () => {
  // Just gone at 30 puts a limit of 30 into the fifth of it below, 24 to 30: the uniform distribution there has mean 27
  // and standard deviation 6 / √12 = 1.73. A contrast is passed downwards, so its limit lies above: mean 33.
  it.each<[HoldLimit, HoldLimit]>([
    [
      { kind: 'grown-by', zone: 'nape', mm: 30, sdMm: VAGUE },
      { kind: 'grown-by', zone: 'nape', mm: 27, sdMm: 1.73 },
    ],
    [
      { kind: 'longer-than', zone: 'nape', mm: 30, sdMm: VAGUE },
      { kind: 'longer-than', zone: 'nape', mm: 27, sdMm: 1.73 },
    ],
    [
      { kind: 'root-band', mm: 30, zone: 'crown', sdMm: VAGUE },
      { kind: 'root-band', mm: 27, zone: 'crown', sdMm: 1.73 },
    ],
    [
      { kind: 'weight-line', zone: 'back', dropMm: 30, sdMm: VAGUE },
      { kind: 'weight-line', zone: 'back', dropMm: 27, sdMm: 1.73 },
    ],
    [
      { kind: 'weight-line', zone: 'back', dropMm: 20, allowanceMm: 30, sdMm: VAGUE },
      { kind: 'weight-line', zone: 'back', dropMm: 20, allowanceMm: 27, sdMm: 1.73 },
    ],
    [
      { kind: 'landmark', zone: 'fringe', landmark: 'brow', allowanceMm: 30, sdMm: VAGUE },
      { kind: 'landmark', zone: 'fringe', landmark: 'brow', allowanceMm: 27, sdMm: 1.73 },
    ],
    [contrast('difference', 30, VAGUE), contrast('difference', 33, 1.73)],
  ])('moves %j when it is just gone at 30', (limit, expected) => {
    const { limit: learned, note } = learn(limit, 'just-gone', 30);
    expect(learned).toEqual(expected);
    expect(note).toBe(
      `Seen as just gone at 30 mm: this client's limit moves from 30 mm to ${limit.kind === 'contrast' ? 33 : 27} mm.`,
    );
  });

  it('takes a fifth of a ratio, never 3 mm of it', () => {
    // Just gone at 3: 3 to 3.6, mean 3.3; 0.6 / √12 = 0.17.
    const { limit, note } = learn(contrast('ratio', 3, VAGUE), 'just-gone', 3);
    expect(limit).toEqual(contrast('ratio', 3.3, 0.17));
    expect(note).toBe("Seen as just gone at 3: this client's limit moves from 3 to 3.3.");
  });

  it('takes at least 3 mm of a short limit, of a difference too', () => {
    // 7 to 10: mean 8.5, and 3 / √12 = 0.87.
    expect(
      learn({ kind: 'grown-by', zone: 'nape', mm: 10, sdMm: VAGUE }, 'just-gone', 10).limit,
    ).toMatchObject({
      mm: 8.5,
      sdMm: 0.87,
    });
    expect(learn(contrast('difference', 10, VAGUE), 'just-gone', 10).limit).toMatchObject({
      value: 11.5,
    });
  });

  it('measures a fifth of a landmark above the ends by its size', () => {
    // -36 to -30 for an allowance of -30.
    const limit = {
      kind: 'landmark',
      zone: 'fringe',
      landmark: 'brow',
      allowanceMm: -30,
      sdMm: VAGUE,
    } as const;
    expect(learn(limit, 'just-gone', -30).limit).toMatchObject({ allowanceMm: -33, sdMm: 1.73 });
  });

  it('never learns a limit that no window would take', () => {
    // -3 to 0 would have its middle at -1.5 mm.
    expect(learn({ kind: 'grown-by', zone: 'nape', mm: 1, sdMm: VAGUE }, 'just-gone', 0).limit).toMatchObject(
      { mm: 0 },
    );
    const line = { kind: 'weight-line', zone: 'back', dropMm: 1, sdMm: VAGUE } as const;
    expect(learn(line, 'just-gone', 0).limit).toMatchObject({ dropMm: 0 });
    expect(learn({ ...line, dropMm: 9, allowanceMm: 1 }, 'just-gone', 0).limit).toMatchObject({
      allowanceMm: 0,
    });
    const ratio = learn(contrast('ratio', 0.5, 5), 'still-holding', 0.5).limit;
    const left = { leftMm: () => 10, daysBefore: () => 0, leftSdMm: new Float64Array(7) };
    expect(() => marginOf(ratio, '2026-03-02', left)).not.toThrow();
    // A difference may fall below 0: the zone may then be the longer one. Half-normal: 2 - 5 √(2/π) = -1.99.
    expect(learn(contrast('difference', 2, 5), 'still-holding', 2).limit).toMatchObject({ value: -1.99 });
  });
});

// Half-normal distribution: mean √(2/π) = 0.79788, variance 1 - 2/π = 0.36338.
describe('learnLimit by the half-normal distribution', () => {
  it('lies below what is more than a fifth gone', () => {
    // Long gone at 36 says below 36 - 6 = 30, the limit itself: 30 - 5 × 0.79788, 5 × √0.36338.
    const limit = { kind: 'grown-by', zone: 'nape', mm: 30, sdMm: 5 } as const;
    expect(learn(limit, 'long-gone', 36).limit).toMatchObject({ mm: 26.01, sdMm: 3.01 });
  });

  it('goes by the share of the doubt that is the limit’s own', () => {
    // Doubt 3, error 4: together 5, share 9 / 25. 30 + 0.36 × 5 × 0.79788; 9 - 0.36² × 25 × 2/π = 6.937.
    const limit = { kind: 'grown-by', zone: 'nape', mm: 30, sdMm: 3 } as const;
    expect(learn(limit, 'still-holding', 30, 4).limit).toMatchObject({ mm: 31.44, sdMm: 2.63 });
  });

  it('doubts a limit without a figure by a quarter of its size', () => {
    // 20 ± 5 and -20 ± 5: 5 × 0.79788 = 3.99.
    const grown = { kind: 'grown-by', zone: 'nape', mm: 20 } as const;
    expect(learn(grown, 'still-holding', 20).limit).toMatchObject({ mm: 23.99 });
    const longer = contrast('difference', -20);
    expect(learn(longer, 'still-holding', -20).limit).toMatchObject({ value: -23.99 });
  });

  it('never becomes surer than a twentieth of the limit', () => {
    // Half-normal doubt of 2 would be 1.2; a twentieth of 40 is 2.
    const limit = { kind: 'grown-by', zone: 'nape', mm: 40, sdMm: 2 } as const;
    expect(learn(limit, 'still-holding', 40).limit).toMatchObject({ mm: 41.6, sdMm: 2 });
  });
});

describe('learnLimit', () => {
  it('says that a limit is fixed, a contrast by its own doubt', () => {
    expect(learn({ kind: 'grown-by', zone: 'nape', mm: 10, sdMm: 0 }, 'just-gone', 10).note).toBe(
      'Fixed by the stylist: the nape has grown by 10 mm.',
    );
    const fixed = contrast('ratio', 3, 0);
    expect(learn(fixed, 'just-gone', 2)).toEqual({
      limit: fixed,
      note: 'Fixed by the stylist: the back is no longer 3 times as long as the nape.',
    });
  });

  it.each<[string, HoldLimit, number, number]>([
    ['reached', { kind: 'grown-by', zone: 'nape', mm: 9 }, -2001, 0],
    ['reachedSd', { kind: 'grown-by', zone: 'nape', mm: 9 }, 9, 501],
    ['mm', { kind: 'grown-by', zone: 'nape', mm: -1 }, 9, 0],
    ['sdMm', { kind: 'grown-by', zone: 'nape', mm: 9, sdMm: 501 }, 9, 0],
    ['value', contrast('difference', -2001), 9, 0],
    ['dropMm', { kind: 'weight-line', zone: 'back', dropMm: 2001 }, 9, 0],
    ['allowanceMm', { kind: 'landmark', zone: 'fringe', landmark: 'brow', allowanceMm: 2001 }, 9, 0],
  ])('names %s out of range', (field, limit, reached, reachedSd) => {
    expect(() => learn(limit, 'just-gone', reached, reachedSd)).toThrow(
      expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field }),
    );
  });

  it('asks for the allowance of a landmark', () => {
    expect(() => learn({ kind: 'landmark', zone: 'fringe', landmark: 'brow' }, 'just-gone', 5)).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'allowanceMm',
        message: 'The brow limit needs its allowance worked out from the shape first.',
      }),
    );
  });
});
