import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import { blendZones } from './blend.js';
import type { Connection } from './formula.js';
import { neighboursOf } from './neighbours.js';
import type { Scalp } from './scalp.js';

/**
 * Roots in one row, each at its place in mm, with its length in mm. They stand for 4 mm2 each, so that they count as
 * 2 mm apart and the first row of a zone as 3 mm off its border: half again as much.
 */
const blended = (
  row: readonly (readonly [zone: Zone, atMm: number, lengthMm: number])[],
  connections: readonly Connection[] = [],
  more: { scale?: number; untouched?: (root: number) => boolean } = {},
): number[] => {
  const count = row.length;
  const head = {
    ...buildHead({ rootCount: 200 }),
    scale: more.scale ?? 1,
    roots: {
      count,
      position: Float64Array.from(row.flatMap(([, at]) => [0, at, 0])),
      normal: new Float64Array(3 * count),
      areaMm2: new Float64Array(count).fill(4),
      zone: Uint8Array.from(row.map(([zone]) => ZONES.indexOf(zone))),
    },
  };
  const length = Float64Array.from(row.map(([, , mm]) => mm));
  const scalp = { head, neighbours: neighboursOf(head) } as Scalp;
  blendZones(scalp, connections, more.untouched ?? (() => false), length);
  return [...length];
};

describe('a blend', () => {
  it('takes the longer side down to the shorter, fading out over 20 mm', () => {
    // The step at the border is 60 - 10 less the 5 mm between the facing roots: 45. Roots 5, 10 and 22 off the other
    // zone stand 2, 7 and 19 from its border row: 18/20, 13/20 and 1/20 of 45 go off; at 23 nothing does.
    expect(
      blended([
        ['nape', -5, 10],
        ['nape', 0, 10],
        ['back', 5, 60],
        ['back', 10, 60],
        ['back', 22, 60],
        ['back', 23, 60],
        ['back', 30, 60],
      ]),
    ).toEqual([10, 10, 60 - 40.5, 60 - 29.25, 60 - 2.25, 60, 60]);
  });

  it('leaves a step that hair falling across the border makes by itself: 1 mm a mm', () => {
    const row = (mm: number): number[] =>
      blended([
        ['nape', 0, 10],
        ['back', 5, mm],
      ]);
    expect(row(15)).toEqual([10, 15]);
    // 2 mm over it, of which 18/20 go off
    expect(row(17)).toEqual([10, 17 - 1.8]);
    expect(row(10)).toEqual([10, 10]);
  });

  it('takes the whole step off within half again the spacing', () => {
    expect(
      blended([
        ['nape', 0, 10],
        ['back', 3, 60],
      ]),
    ).toEqual([10, 60 - 47]);
    expect(
      blended([
        ['nape', 0, 10],
        ['back', 1, 60],
      ]),
    ).toEqual([10, 60 - 49]);
  });

  it('goes by the lengths before the blend, whatever the order of the roots', () => {
    // The root further in is measured by its facing root's 60, not by what the blend made of it.
    expect(
      blended([
        ['back', 10, 60],
        ['back', 5, 60],
        ['nape', 0, 10],
      ]),
    ).toEqual([60 - 29.25, 60 - 40.5, 10]);
    // Only what the border row has too much is taken from the row behind it.
    expect(
      blended([
        ['nape', 0, 10],
        ['back', 5, 15],
        ['back', 10, 60],
      ]),
    ).toEqual([10, 15, 60]);
  });

  it('is as wide as is asked, and on a large head as much wider', () => {
    const row = [
      ['nape', 0, 10],
      ['back', 5, 60],
      ['back', 10, 60],
      ['back', 13, 60],
    ] as const;
    const wide = (widthMm: number): Connection => ({ between: ['back', 'nape'], join: 'blended', widthMm });
    expect(blended(row, [wide(10)])).toEqual([10, 60 - 36, 60 - 13.5, 60]);
    expect(blended(row, [wide(40)])).toEqual([
      10,
      60 - 45 * (38 / 40),
      60 - 45 * (33 / 40),
      60 - 45 * (30 / 40),
    ]);
    // 20 * 1.25 = 25
    expect(blended(row, [], { scale: 1.25 })).toEqual([
      10,
      expect.closeTo(60 - 45 * (23 / 25), 9),
      expect.closeTo(60 - 45 * (18 / 25), 9),
      expect.closeTo(60 - 45 * (15 / 25), 9),
    ]);
    expect(blended(row, [wide(10)], { scale: 1.25 })[2]).toBeCloseTo(60 - 45 * (5.5 / 12.5), 9);
  });

  it('leaves a disconnected pair its step, whichever is named first, and blends the others', () => {
    const row = [
      ['nape', 0, 10],
      ['back', 5, 60],
      ['top', 10, 90],
    ] as const;
    const cut = (between: readonly [Zone, Zone]): number[] =>
      blended(row, [{ between, join: 'disconnected', widthMm: 30 }]);
    // Between top and back: a step of 90 - 60 - 5 = 25, of which 18/20 go off. The top stands 10 off the nape: a step of
    // 90 - 10 - 10 = 70, of which 13/20 go off; the greater counts.
    expect(cut(['nape', 'back'])).toEqual([10, 60, 90 - 45.5]);
    expect(cut(['back', 'nape'])).toEqual([10, 60, 90 - 45.5]);
    expect(cut(['nape', 'top'])).toEqual([10, 60 - 40.5, 90 - 22.5]);
    expect(blended(row)).toEqual([10, 60 - 40.5, 90 - 45.5]);
  });

  it('does not reach across more than 45 mm', () => {
    const wide = [{ between: ['nape', 'back'], join: 'blended', widthMm: 40 }] as const;
    // The step at the border: 60 - 10 - 4. Of a root 42 off, 39 from the border row, 1/40 of it goes.
    const border = [
      ['nape', 0, 10],
      ['back', 4, 60],
    ] as const;
    expect(blended([...border, ['back', 42, 60]], wide)[2]).toBeCloseTo(60 - 46 / 40, 9);
    expect(
      blended(
        [
          ['nape', 0, 10],
          ['back', 45.1, 60],
        ],
        wide,
      ),
    ).toEqual([10, 60]);
  });

  it('leaves the roots it may not touch', () => {
    const row = [
      ['nape', 0, 10],
      ['back', 5, 60],
      ['back', 10, 60],
    ] as const;
    expect(blended(row, [], { untouched: (root) => root === 1 })).toEqual([10, 60, 60 - 29.25]);
  });
});
