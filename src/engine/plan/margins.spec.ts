import { describe, expect, it } from '@jest/globals';

import { ZONES, type Zone } from '../zones.js';
import { leftLengths } from './left-lengths.js';
import type { HoldLimit, ZoneLeft } from './limits.js';
import { type Margin, marginOf } from './margins.js';

const CUT_ON = '2026-03-02';
const lengths: readonly ZoneLeft[] = [
  { zone: 'nape', leftMm: 8, leftSdMm: 0.5, leftOn: CUT_ON },
  { zone: 'back', leftMm: 60, leftSdMm: 3, leftOn: '2026-02-20' },
  { zone: 'fringe', leftMm: 70, leftSdMm: 2 },
];
const left = leftLengths(lengths, CUT_ON);

/** One person: what each zone grows a day, and how far the length it was left at was misjudged. */
const rate: Partial<Record<Zone, number>> = { nape: 0.4, back: 0.3, fringe: 0.35, top: 0.33 };
const error: Partial<Record<Zone, number>> = { nape: 0.7, back: -2, fringe: 1.5 };
const DAYS = 30;

/** The linear form that the docstring of Margin gives. */
function marginAt({ c, z1, o1, a1, b1, z2, o2, a2, b2 }: Margin): number {
  const part = (z: number, o: number, a: number, b: number) =>
    a * (DAYS + o) * (rate[ZONES[z] as Zone] ?? 0) + b * (error[ZONES[z] as Zone] ?? 0);
  return c - part(z1, o1, a1, b1) - (z2 < 0 ? 0 : part(z2, o2, a2, b2));
}

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

describe('marginOf', () => {
  // Grown in 30 days: nape 12; the back had been growing for 10 days: 40 × 0.3 = 12. True lengths on that day:
  // nape 8 + 0.7 + 12 = 20.7, back 60 − 2 + 12 = 70, fringe 70 + 1.5 + 10.5 = 82.
  it.each<[string, HoldLimit, number]>([
    ['grown-by', { kind: 'grown-by', zone: 'nape', mm: 15 }, 15 - 12],
    ['grown-by, since the zone was last cut', { kind: 'grown-by', zone: 'back', mm: 15 }, 15 - 12],
    ['longer-than', { kind: 'longer-than', zone: 'nape', mm: 24 }, 24 - 20.7],
    ['longer-than, since the zone was last cut', { kind: 'longer-than', zone: 'back', mm: 75 }, 75 - 70],
    [
      'landmark, to which a zone left too long is nearer',
      { kind: 'landmark', zone: 'fringe', landmark: 'brow', allowanceMm: 13 },
      13 - 10.5 - 1.5,
    ],
    ['weight-line', { kind: 'weight-line', zone: 'back', dropMm: 20 }, 20 - 12],
    [
      'weight-line that asks more growth than it drops',
      { kind: 'weight-line', zone: 'back', dropMm: 20, allowanceMm: 26 },
      26 - 12,
    ],
    [
      'contrast',
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'difference', value: 40 },
      70 - 20.7 - 40,
    ],
    ['contrast', { kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 3 }, 70 - 3 * 20.7],
    [
      'contrast',
      { kind: 'contrast', zone: 'back', against: 'nape', by: 'difference', value: -55 },
      20.7 - 70 + 55,
    ],
    ['root-band, coloured at the cut, at the parting', { kind: 'root-band', mm: 15 }, 15 - 30 * 0.33],
    [
      'root-band, coloured 12 days before',
      { kind: 'root-band', mm: 20, zone: 'nape', colouredOn: '2026-02-18' },
      20 - 42 * 0.4,
    ],
  ])('is what lacks to the limit: %s %j', (_, limit, expected) => {
    expect(marginAt(marginOf(limit, CUT_ON, left))).toBeCloseTo(expected, 10);
  });

  it('says that a limit looks at no second zone, or at which', () => {
    expect(marginOf({ kind: 'grown-by', zone: 'nape', mm: 15 }, CUT_ON, left).z2).toBe(-1);
    expect(ZONES[marginOf(contrast('ratio', 3), CUT_ON, left).z2]).toBe('back');
  });

  it('takes the doubt about a limit as it is, about a ratio times the shorter length', () => {
    const doubt = (limit: HoldLimit) => marginOf(limit, CUT_ON, left).noiseSd;
    expect(doubt({ kind: 'grown-by', zone: 'nape', mm: 15 })).toBe(0);
    expect(doubt({ kind: 'grown-by', zone: 'nape', mm: 15, sdMm: 2 })).toBe(2);
    expect(doubt({ kind: 'root-band', mm: 15, sdMm: 2 })).toBe(2);

    expect(doubt(contrast('difference', 3, 0.25))).toBe(0.25);
    // L(back) − (3 ± 0.25) × 8 mm.
    expect(doubt(contrast('ratio', 3, 0.25))).toBe(2);
    expect(doubt(contrast('ratio', 3))).toBe(0);
  });

  it('refuses what no limit can be, and says what to do', () => {
    const refusal = (limit: HoldLimit) => () => marginOf(limit, CUT_ON, left);
    expect(refusal({ kind: 'landmark', zone: 'fringe', landmark: 'brow' })).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'allowanceMm',
        message: 'The brow limit of the fringe needs its allowance worked out from the shape first.',
      }),
    );
    expect(refusal({ kind: 'contrast', zone: 'nape', against: 'nape', by: 'ratio', value: 2 })).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'against',
        message: 'A contrast needs two different zones.',
      }),
    );
    expect(refusal({ kind: 'grown-by', zone: 'beard' as Zone, mm: 9 })).toThrow(
      expect.objectContaining({
        code: 'ENGINE.UNKNOWN_ZONE',
        field: 'zone',
        message: 'zone must be one of fringe, top, crown, left-side, right-side, back, nape.',
      }),
    );
  });

  it.each<[string, HoldLimit, HoldLimit]>([
    ['mm', { kind: 'grown-by', zone: 'nape', mm: 2000 }, { kind: 'grown-by', zone: 'nape', mm: 2000.1 }],
    ['mm', { kind: 'longer-than', zone: 'nape', mm: 0 }, { kind: 'longer-than', zone: 'nape', mm: -0.1 }],
    ['mm', { kind: 'root-band', mm: 0 }, { kind: 'root-band', mm: -1 }],
    ['sdMm', { kind: 'root-band', mm: 9, sdMm: 500 }, { kind: 'root-band', mm: 9, sdMm: 501 }],
    [
      'dropMm',
      { kind: 'weight-line', zone: 'back', dropMm: 2000 },
      { kind: 'weight-line', zone: 'back', dropMm: 2001 },
    ],
    [
      'allowanceMm',
      { kind: 'weight-line', zone: 'back', dropMm: 9, allowanceMm: 0 },
      { kind: 'weight-line', zone: 'back', dropMm: 9, allowanceMm: -1 },
    ],
    // A landmark may lie above the ends already.
    [
      'allowanceMm',
      { kind: 'landmark', zone: 'fringe', landmark: 'brow', allowanceMm: -2000 },
      { kind: 'landmark', zone: 'fringe', landmark: 'brow', allowanceMm: -2001 },
    ],
    ['value', contrast('difference', -2000), contrast('difference', -2001)],
    ['value', contrast('ratio', 0.001), contrast('ratio', 0)],
    ['value', contrast('ratio', 1000), contrast('ratio', 1001)],
    ['sd', contrast('difference', 9, 500), contrast('difference', 9, 501)],
  ])('takes %s up to its bound and no further', (field, within, beyond) => {
    expect(() => marginOf(within, CUT_ON, left)).not.toThrow();
    expect(() => marginOf(beyond, CUT_ON, left)).toThrow(
      expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field }),
    );
  });
});

describe('leftLengths', () => {
  it('knows lengths, errors by place of the zone, and days since an earlier cut', () => {
    expect(left.leftMm('back')).toBe(60);
    expect([...left.leftSdMm]).toEqual([2, 0, 0, 0, 0, 3, 0.5]);
    // 20 February to 2 March 2026.
    expect(left.daysBefore('back')).toBe(10);
    expect(left.daysBefore('fringe')).toBe(0);
    expect(left.daysBefore('top')).toBe(0);
  });

  it('names the zone that a limit looks at in vain', () => {
    expect(() => left.leftMm('crown')).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'zones',
        message: 'A hold limit looks at the crown, whose length is not given.',
      }),
    );
  });

  it.each<[string, string, Partial<ZoneLeft>, Partial<ZoneLeft>]>([
    ['leftMm', 'ENGINE.OUT_OF_RANGE', { leftMm: 2000 }, { leftMm: 2001 }],
    ['leftSdMm', 'ENGINE.OUT_OF_RANGE', { leftSdMm: 200 }, { leftSdMm: 201 }],
    // Ten years and a week are 3660 days; a zone cannot be left after the cut it is counted from.
    ['leftOn', 'ENGINE.OUT_OF_RANGE', { leftOn: '2016-02-23' }, { leftOn: '2016-02-22' }],
    ['leftOn', 'ENGINE.OUT_OF_RANGE', { leftOn: CUT_ON }, { leftOn: '2026-03-03' }],
    ['zones', 'ENGINE.UNKNOWN_ZONE', { zone: 'top' }, { zone: 'beard' as Zone }],
  ])('takes %s up to its bound and no further', (field, code, within, beyond) => {
    const given = (change: Partial<ZoneLeft>) =>
      leftLengths([{ zone: 'nape', leftMm: 8, leftSdMm: 1, ...change }], CUT_ON);
    expect(() => given(within)).not.toThrow();
    expect(() => given(beyond)).toThrow(expect.objectContaining({ field, code }));
  });

  it('lists the zones there are when it does not know one', () => {
    expect(() => leftLengths([{ zone: 'beard' as Zone, leftMm: 8, leftSdMm: 1 }], CUT_ON)).toThrow(
      'zone must be one of fringe, top, crown, left-side, right-side, back, nape.',
    );
  });
});
