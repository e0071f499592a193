import { describe, expect, it } from '@jest/globals';
import { buildHead } from '../head/index.js';
import { ZONES, type Zone } from '../zones.js';
import type { TravellingStep } from './formula.js';
import type { Scalp } from './scalp.js';
import { areLevel, cutTravelling } from './travelling.js';

const DEGREE = Math.PI / 180;
const base = buildHead({ rootCount: 200 });

/** A piece of a root's way in one zone. */
interface Run {
  readonly zone: Zone;
  readonly straightMm?: number;
  /** Dips in degrees with the mm they stand for. */
  readonly dips?: readonly (readonly [degrees: number, mm: number])[];
  readonly exitDip?: number;
  readonly exitSideMm?: number;
  readonly nearest?: readonly number[];
  readonly share?: readonly number[];
  readonly onwardMm?: number;
}
interface Row {
  readonly zone: Zone;
  readonly down?: readonly Run[];
  readonly up?: readonly Run[];
  readonly sideMm?: number;
  /** Closest root of other zones, and how far off. */
  readonly close?: Partial<Record<Zone, readonly [root: number, mm: number]>>;
}

const runsOf = (rows: readonly Row[], way: 'down' | 'up'): Scalp['down'] => {
  const lists = rows.map((row) => row[way] ?? []);
  const all = lists.flat();
  const three = (of: readonly number[] | undefined, other: number): readonly number[] =>
    of ?? [other, other, other];
  let next = 0;
  const pad = (of: Run, k: 0 | 1): number[] => [0, 1, 2, 3].map((i) => of.dips?.[i]?.[k] ?? 0);
  return {
    start: Uint32Array.from([0, ...lists.map((list) => (next += list.length))]),
    zone: Uint8Array.from(all, (run) => ZONES.indexOf(run.zone)),
    arcMm: Float64Array.from(all, (run) => run.straightMm ?? 0),
    straightMm: Float64Array.from(all, (run) => run.straightMm ?? 0),
    dips: Float64Array.from(all.flatMap((run) => [...pad(run, 0).map((d) => d * DEGREE), ...pad(run, 1)])),
    dipped: Uint8Array.from(all, (run) => (run.dips === undefined ? 0 : 1)),
    exitSideMm: Float64Array.from(all, (run) => run.exitSideMm ?? 0),
    exitDip: Float64Array.from(all, (run) => (run.exitDip ?? 0) * DEGREE),
    nearest: Int32Array.from(all.flatMap((run) => three(run.nearest, -1))),
    share: Float64Array.from(all.flatMap((run) => three(run.share, 0))),
    onwardMm: Float64Array.from(all, (run) => run.onwardMm ?? 0),
  };
};
const scalpOf = (rows: readonly Row[], scale = 1): Scalp =>
  ({
    head: { ...base, scale },
    neighbours: {
      ofZone: ZONES.map((zone) => Uint32Array.from([...rows.keys()].filter((i) => rows[i]!.zone === zone))),
      sideMm: Float64Array.from(rows, (row) => row.sideMm ?? 0),
      nearest: Int32Array.from(rows.flatMap((row) => ZONES.map((zone) => row.close?.[zone]?.[0] ?? -1))),
      distanceMm: Float64Array.from(
        rows.flatMap((row) => ZONES.map((zone) => row.close?.[zone]?.[1] ?? Number.POSITIVE_INFINITY)),
      ),
    },
    down: runsOf(rows, 'down'),
    up: runsOf(rows, 'up'),
  }) as unknown as Scalp;
const step = (more: Partial<TravellingStep> = {}): TravellingStep => ({
  kind: 'travelling',
  zones: ['back'],
  guide: { kind: 'length', lengthMm: 50 },
  section: 'horizontal',
  elevationDegrees: 60,
  ...more,
});
/** Lengths of all roots; those the step does not cut stay at -1. */
const cut = (
  rows: readonly Row[],
  more: Partial<TravellingStep> = {},
  zoneGuideMm = 0,
  lengthMm: readonly number[] = [],
  scale?: number,
): number[] => {
  const out = new Float64Array(rows.length).fill(-1);
  cutTravelling(scalpOf(rows, scale), step(more), zoneGuideMm, Float64Array.from(lengthMm), out);
  return [...out];
};
const sin = (degrees: number): number => Math.sin(degrees * DEGREE);
const cos = (degrees: number): number => Math.cos(degrees * DEGREE);
const close = (mm: number): unknown => expect.closeTo(mm, 9);

describe('a travelling guide of its own length', () => {
  const one: Row = { zone: 'back', down: [{ zone: 'back', straightMm: 30 }] };
  const up: Row = { zone: 'back', up: [{ zone: 'back', straightMm: 30 }] };

  it('gains cos e for every mm up from a guide below, and loses it down from one above', () => {
    expect(cut([one])).toEqual([close(50 + 30 * cos(60))]);
    expect(cut([one], { startAt: 'below' })).toEqual([close(50 + 30 * cos(60))]);
    expect(cut([one], { elevationDegrees: 135 })).toEqual([close(50 + 30 * cos(135))]);
    expect(cut([up], { startAt: 'above' })).toEqual([close(50 - 30 * cos(60))]);
  });

  it('gains sin e tan phi with the finger angle', () => {
    const tilted = { fingerAngleDegrees: 20 };
    const gain = 30 * sin(60) * Math.tan(20 * DEGREE);
    expect(cut([one], tilted)).toEqual([close(50 + 30 * cos(60) + gain)]);
    expect(cut([up], { ...tilted, startAt: 'above' })).toEqual([close(50 - 30 * cos(60) - gain)]);
  });

  it('gains D / w with every section, up or down', () => {
    expect(cut([one], { stepPerSectionMm: 6, sectionDepthMm: 12 })).toEqual([close(65 + 15)]);
    expect(cut([up], { stepPerSectionMm: 6, sectionDepthMm: 12, startAt: 'above' })).toEqual([
      close(35 + 15),
    ]);
    // a finger is 18 deep
    expect(cut([one], { stepPerSectionMm: -6 })).toEqual([close(65 - 10)]);
  });

  it('is held the higher the more the surface dips: e + dip (1 - e / 90), up to 90 degrees', () => {
    const dipped: Row = {
      zone: 'back',
      down: [
        {
          zone: 'back',
          straightMm: 4,
          dips: [
            [10, 1],
            [20, 2],
            [30, 3],
            [40, 5],
          ],
        },
      ],
    };
    // At 60 degrees a third of the dip counts.
    const sixty = cos(60 + 10 / 3) + 2 * cos(60 + 20 / 3) + 3 * cos(70) + 5 * cos(60 + 40 / 3);
    expect(cut([dipped])).toEqual([close(50 + 4 * cos(60) + sixty)]);
    const none = 50 + 4 + cos(10) + 2 * cos(20) + 3 * cos(30) + 5 * cos(40);
    expect(cut([dipped], { elevationDegrees: 0 })).toEqual([close(none)]);
    for (const e of [90, 120, 180]) {
      expect(cut([dipped], { elevationDegrees: e })).toEqual([close(50 + 15 * cos(e))]);
    }
  });

  it('goes on through every zone of the step, and through the sides and the back, which lie level', () => {
    const through = (first: Zone, then: Zone): Row => ({
      zone: first,
      down: [
        { zone: first, straightMm: 10 },
        { zone: then, straightMm: 20 },
        { zone: first, straightMm: 30 },
      ],
    });
    const along = (row: Row, zones: readonly Zone[]): number =>
      cut([row], { zones, elevationDegrees: 0 })[0]!;
    expect(along(through('back', 'nape'), ['back'])).toBeCloseTo(60, 9);
    expect(along(through('back', 'nape'), ['back', 'nape'])).toBeCloseTo(110, 9);
    expect(along(through('back', 'left-side'), ['back'])).toBeCloseTo(110, 9);
    expect(along(through('left-side', 'back'), ['left-side'])).toBeCloseTo(110, 9);
    expect(along(through('right-side', 'left-side'), ['right-side', 'top'])).toBeCloseTo(110, 9);
    expect(along(through('top', 'back'), ['top'])).toBeCloseTo(60, 9);
    expect(along(through('top', 'crown'), ['top'])).toBeCloseTo(60, 9);
  });

  it('cuts the zones of the step only, each once', () => {
    const rows: Row[] = [one, { zone: 'nape', down: [{ zone: 'nape', straightMm: 7 }] }];
    expect(cut(rows)).toEqual([close(65), -1]);
    expect(cut(rows, { zones: ['nape', 'back', 'nape'] })).toEqual([close(65), close(53.5)]);
  });
});

describe('sections', () => {
  /** Three roots of the back whose ways end 5, 20 and 50 mm round from the midline; the edges stand at 2 and 60. */
  const rows: Row[] = [
    { zone: 'back', sideMm: 2, down: [] },
    { zone: 'back', sideMm: 60, down: [] },
    ...[5, 20, 50].map(
      (exitSideMm): Row => ({
        zone: 'back',
        sideMm: 20,
        down: [{ zone: 'back', straightMm: 30, exitSideMm }],
      }),
    ),
    { zone: 'nape', sideMm: 90, down: [] },
    { zone: 'nape', sideMm: 0, down: [] },
  ];
  const first = (more: Partial<TravellingStep>): number[] => cut(rows, more).slice(2, 5);

  it('vertical: nothing upwards from 45 degrees on, the less below, and D / w sideways from the back', () => {
    expect(first({ section: 'vertical' })).toEqual([close(50), close(50), close(50)]);
    expect(first({ section: 'vertical', elevationDegrees: 45 })).toEqual([close(50), close(50), close(50)]);
    // u = 1 - 18 / 45
    const low = 50 + 30 * (1 - 18 / 45) * cos(18);
    expect(first({ section: 'vertical', elevationDegrees: 18 })).toEqual([
      close(low),
      close(low),
      close(low),
    ]);
    expect(first({ section: 'vertical', elevationDegrees: 0 })).toEqual([close(80), close(80), close(80)]);
    // 6 more every 12: half a mm a mm from the edge at 2
    expect(first({ section: 'vertical', stepPerSectionMm: 6, sectionDepthMm: 12 })).toEqual([
      close(50 + 3 / 2),
      close(50 + 18 / 2),
      close(50 + 48 / 2),
    ]);
    // The finger angle counts upwards as ever.
    expect(first({ section: 'vertical', fingerAngleDegrees: 30 })[0]).toBeCloseTo(
      50 + 30 * sin(60) * Math.tan(30 * DEGREE),
      9,
    );
  });

  it('radial: as vertical', () => {
    expect(first({ section: 'radial', elevationDegrees: 18 })).toEqual(
      first({ section: 'vertical', elevationDegrees: 18 }),
    );
  });

  it('diagonal forward: cos 45 upwards, sin 45 (cos e + D / w) sideways from the edge towards the back', () => {
    const h = Math.SQRT1_2;
    expect(first({ section: 'diagonal-forward' })).toEqual(
      [3, 18, 48].map((side) => close(50 + 30 * h * cos(60) + side * h * cos(60))),
    );
    // At 30 degrees u = 1 - (1 - cos 45) 2 / 3; a step of 6 on 12 adds cos 45 of a half upwards, sin 45 of it sideways.
    const u = 1 - ((1 - h) * 2) / 3;
    expect(
      first({ section: 'diagonal-forward', elevationDegrees: 30, stepPerSectionMm: 6, sectionDepthMm: 12 }),
    ).toEqual(
      [3, 18, 48].map((side) => close(50 + 30 * (u * cos(30) + h / 2) + side * h * (cos(30) + 1 / 2))),
    );
  });

  it('diagonal back: the same from the edge towards the face', () => {
    const h = Math.SQRT1_2;
    expect(first({ section: 'diagonal-back' })).toEqual(
      [55, 40, 10].map((side) => close(50 + 30 * h * cos(60) + side * h * cos(60))),
    );
  });

  it('horizontal: nothing sideways', () => {
    expect(first({ stepPerSectionMm: 6, sectionDepthMm: 12 })).toEqual([close(80), close(80), close(80)]);
  });

  it('start from the edges of all zones of the step', () => {
    const made = cut(rows, { section: 'diagonal-forward', zones: ['back', 'nape'] });
    expect(made[2]).toBeCloseTo(50 + 30 * Math.SQRT1_2 * cos(60) + 5 * Math.SQRT1_2 * cos(60), 9);
  });
});

describe('a guide taken from a zone', () => {
  const nape = (mm: number): Run => ({ zone: 'nape', straightMm: mm });
  const last: Run = {
    zone: 'back',
    straightMm: 30,
    nearest: [1, 2, 3],
    share: [0.5, 0.3, 0.2],
    onwardMm: 4,
    exitDip: 15,
    exitSideMm: 40,
  };
  const rows: Row[] = [
    { zone: 'back', sideMm: 10, down: [last, nape(20)] },
    { zone: 'nape' },
    { zone: 'nape' },
    { zone: 'nape' },
  ];
  const from = (zone: Zone): Partial<TravellingStep> => ({ guide: { kind: 'zone', zone } });
  const lengths = [0, 10, 20, 40];
  // 0.5 * 10 + 0.3 * 20 + 0.2 * 40
  const row = 19;

  it('goes by its last row, by shares, and over the way on to it', () => {
    expect(cut(rows, from('nape'), 99, lengths)[0]).toBeCloseTo(row + 30 * cos(60) + 4 * cos(60 + 15 / 3), 9);
    // The row lies where it lies: nothing is gained sideways from the region's edge.
    expect(cut(rows, { ...from('nape'), section: 'diagonal-forward' }, 99, lengths)[0]).toBeCloseTo(
      row + Math.SQRT1_2 * (30 * cos(60) + 4 * cos(65)),
      9,
    );
  });

  it('may be the very first root', () => {
    const first: Row[] = [
      { zone: 'nape' },
      {
        zone: 'back',
        down: [{ zone: 'back', straightMm: 30, nearest: [0, 0, 0], share: [1, 0, 0] }, nape(20)],
      },
    ];
    expect(cut(first, from('nape'), 99, [12, 0])[1]).toBeCloseTo(12 + 15, 9);
  });

  it("is the zone's own length where the way never leaves the step", () => {
    const inside: Row[] = [
      { zone: 'back', sideMm: 10, down: [{ zone: 'back', straightMm: 30, exitSideMm: 40 }] },
    ];
    expect(cut(inside, from('nape'), 25)).toEqual([close(25 + 15)]);
    expect(cut(inside, { ...from('nape'), section: 'diagonal-forward' }, 25)).toEqual([
      close(25 + Math.SQRT1_2 * (15 + 30 * cos(60))),
    ]);
  });

  it("stays the zone's own length there, whatever the last row has beside it", () => {
    const inside: Row = { zone: 'back', close: { nape: [3, 0] }, down: [{ zone: 'back', straightMm: 30 }] };
    expect(cut([...rows, inside], from('nape'), 99, [...lengths, 0])[4]).toBeCloseTo(99 + 15, 9);
  });

  it('does not count for a step with a length of its own', () => {
    expect(cut(rows, {}, 99, lengths)[0]).toBeCloseTo(65, 9);
  });

  it("reaches roots whose way leads elsewhere by its closest hair, fading into the last row's mean", () => {
    const stray = (close: Row['close']): Row => ({
      zone: 'back',
      down: [
        { ...last, nearest: [4, 4, 4] },
        { zone: 'crown', straightMm: 20 },
      ],
      ...(close && { close }),
    });
    const made = (strays: readonly Row[], scale?: number): number[] =>
      cut([...rows, ...strays], from('nape'), 99, lengths, scale).slice(4);
    expect(
      made([
        stray({ nape: [3, 0] }),
        stray({ nape: [3, 9] }),
        stray({ nape: [3, 45] }),
        stray({ nape: [3, 60] }),
        stray({ crown: [3, 9] }),
        stray(undefined),
      ]),
    ).toEqual([
      close(40 + 15),
      // four fifths of the way from 19 to 40
      close(19 + 0.8 * 21 + 15),
      close(19 + 15),
      close(19 + 15),
      close(19 + 15),
      close(19 + 15),
    ]);
    // On a head of half the size 9 is what 18 is on the mean one.
    expect(made([stray({ nape: [3, 9] })], 0.5)).toEqual([close(19 + 0.6 * 21 + 15)]);
  });

  it('the last row counts by the mean of what the roots above it find there', () => {
    const other: Run = { ...last, nearest: [1, 1, 1], share: [1, 0, 0] };
    const stray: Row = { zone: 'back', down: [last, { zone: 'crown' }] };
    const made = cut([...rows, { zone: 'back', down: [other, nape(1)] }, stray], from('nape'), 99, [
      ...lengths,
      0,
      0,
    ]);
    // (19 + 10) / 2
    expect(made[5]).toBeCloseTo(14.5 + 15, 9);
  });

  it("is the zone's own length where no way leads into it", () => {
    const stray: Row = { zone: 'back', close: { nape: [0, 3] }, down: [last, { zone: 'crown' }] };
    expect(cut([stray], from('nape'), 25, [77])).toEqual([close(40)]);
    // A zone without roots has no last row.
    const bare: Run = { ...last, nearest: [-1, -1, -1], share: [0, 0, 0] };
    expect(cut([{ zone: 'back', down: [bare, nape(5)] }], from('nape'), 25)).toEqual([close(40)]);
    // What is sideways counts for both.
    const aside = { ...from('nape'), section: 'diagonal-forward' } as const;
    expect(cut([{ zone: 'back', sideMm: 10, down: [bare, nape(5)] }], aside, 25)).toEqual([
      close(25 + Math.SQRT1_2 * (15 + 30 * cos(60))),
    ]);
  });
});

describe('zones that lie level', () => {
  it('are the sides and the back', () => {
    expect(areLevel('back', ['left-side', 'top'])).toBe(true);
    expect(areLevel('right-side', ['back'])).toBe(true);
    expect(areLevel('left-side', ['top', 'crown', 'right-side'])).toBe(true);
    expect(areLevel('back', ['nape', 'crown'])).toBe(false);
    expect(areLevel('nape', ['back'])).toBe(false);
  });
});
