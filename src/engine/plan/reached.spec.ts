import { describe, expect, it } from '@jest/globals';

import { type HoldLimit, reachedOf } from './index.js';

const left = [
  { zone: 'nape', leftMm: 6, leftSdMm: 0.5 },
  { zone: 'back', leftMm: 60, leftSdMm: 3 },
] as const;
const now = [
  { zone: 'nape', lengthMm: 20, sdMm: 1.2 },
  { zone: 'back', lengthMm: 75, sdMm: 4 },
] as const;

describe('reachedOf', () => {
  it.each<[HoldLimit, number, number]>([
    [{ kind: 'grown-by', zone: 'nape', mm: 12 }, 14, 1.3],
    [{ kind: 'longer-than', zone: 'nape', mm: 16 }, 20, 1.2],
    [{ kind: 'weight-line', zone: 'back', dropMm: 20 }, 15, 5],
    [{ kind: 'landmark', zone: 'back', landmark: 'collar', allowanceMm: 20 }, 15, 5],
    [
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'difference', value: 50 },
      55,
      Math.hypot(1.2, 4),
    ],
    [
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 3 },
      3.75,
      Math.hypot(4, 4.5) / 20,
    ],
  ])('reads %j', (limit, reached, reachedSd) => {
    const found = reachedOf(limit, left, now);
    expect(found.reached).toBeCloseTo(reached, 12);
    expect(found.reachedSd).toBeCloseTo(reachedSd, 12);
  });

  it('takes the root band as given, and names what is missing', () => {
    const band: HoldLimit = { kind: 'root-band', mm: 15 };
    expect(reachedOf(band, left, now, { meanMm: 12, sdMm: 2 })).toEqual({ reached: 12, reachedSd: 2 });
    expect(() => reachedOf(band, left, now)).toThrow(expect.objectContaining({ field: 'bandMm' }));
    expect(() => reachedOf({ kind: 'grown-by', zone: 'top', mm: 9 }, left, now)).toThrow(
      expect.objectContaining({ field: 'now' }),
    );
  });

  it.each<[string, () => unknown]>([
    ['bandMm The width of the root band', () => reachedOf({ kind: 'root-band', mm: 15 }, left, now)],
    [
      'now The present length of the top',
      () => reachedOf({ kind: 'longer-than', zone: 'top', mm: 9 }, left, now),
    ],
    [
      'now The present length of the back',
      () =>
        reachedOf(
          { kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 3 },
          left,
          now.slice(0, 1),
        ),
    ],
    [
      'left The length the nape was left at',
      () => reachedOf({ kind: 'grown-by', zone: 'nape', mm: 9 }, left.slice(1), now),
    ],
  ])('asks for what it needs: %s', (fieldAndWhat, ask) => {
    const [field = '', ...what] = fieldAndWhat.split(' ');
    expect(ask).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field,
        message: `${what.join(' ')} is needed to judge this limit.`,
      }),
    );
  });

  it.each([
    ['lengthMm', { lengthMm: 2000 }, { lengthMm: 2001 }],
    ['lengthMm', { lengthMm: 0 }, { lengthMm: -1 }],
    ['sdMm', { sdMm: 200 }, { sdMm: 201 }],
  ])('takes %s up to its bound and no further', (field, within, beyond) => {
    const read = (change: object) =>
      reachedOf({ kind: 'longer-than', zone: 'nape', mm: 9 }, left, [{ ...now[0], ...change }]);
    expect(() => read(within)).not.toThrow();
    expect(() => read(beyond)).toThrow(expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field }));
  });

  it('takes a shaven zone for 1 mm long, so that a ratio stays a number', () => {
    const shaven = [{ zone: 'nape', lengthMm: 0, sdMm: 0 } as const, now[1]];
    const ratio = { kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 3 } as const;
    expect(reachedOf(ratio, left, shaven)).toEqual({ reached: 75, reachedSd: 4 });
  });
});
