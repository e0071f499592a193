import { describe, expect, it } from '@jest/globals';

import { growthPrior, initialProfile } from '../growth/index.js';
import { type ReshapeInput, type ReshapeZone, reshapePath } from './index.js';

const profile = initialProfile(growthPrior());
const on = '2026-03-02';
const zone = (name: ReshapeZone['zone'], presentMm: number, wantedMm: number): ReshapeZone => ({
  zone: name,
  presentMm,
  presentSdMm: 0,
  wantedMm,
});
const path = (zones: readonly ReshapeZone[], changes: Partial<ReshapeInput> = {}) =>
  reshapePath({ profile, on, zones, ...changes });

describe('the stages of a reshape', () => {
  // 35 mm at 0.35 mm a day: ready on day 100. A tidy in the week before it would be done twice.
  it.each([
    [30, [0, 30, 60, 90, 100]],
    [31, [0, 31, 62, 100]],
    [50, [0, 50, 100]],
    // Rounded to 47: 47, then 94, six days before the end.
    [46.6, [0, 47, 100]],
    [42, [0, 42, 84, 100]],
  ])('come every %d days, but not in the last week', (stageEveryDays, days) => {
    const { stages } = path([zone('back', 50, 85)], { stageEveryDays });
    expect(stages.map((stage) => stage.days)).toEqual(days);
    expect(stages.map(({ kind }) => kind)).toEqual(
      days.map((day) => (day === 0 ? 'today' : day === 100 ? 'target' : 'tidy')),
    );
    // 100 days after 2 March.
    expect(stages.at(-1)?.on).toBe('2026-06-10');
  });

  it('come every six weeks when nothing is said', () => {
    expect(path([zone('back', 50, 85)]).stages.map(({ days }) => days)).toEqual([0, 42, 84, 100]);
  });

  it('lets every growing zone grow, and keeps the others at what is wanted', () => {
    // By hand for day 50 at 0.35 mm a day, 17.5 mm: nape 6 to 23.5, back 50 to 67.5, top back to 60.
    const { stages, ready50Days } = path([zone('top', 90, 60), zone('nape', 6, 41), zone('back', 50, 85)], {
      stageEveryDays: 50,
    });
    // Each of the two is there on day 100 in half of all cases, both later.
    expect(ready50Days).toBeGreaterThan(100);
    expect(stages.map(({ lengthsMm }) => lengthsMm)).toEqual([
      { top: 60, back: 50, nape: 6 },
      { top: 60, back: expect.closeTo(67.5, 8), nape: expect.closeTo(23.5, 8) },
      { top: 60, back: 85, nape: 41 },
    ]);
    expect(stages.map(({ takeOffMm }) => takeOffMm.top)).toEqual([
      30,
      expect.closeTo(17.5, 8),
      expect.closeTo((ready50Days - 50) * 0.35, 8),
    ]);
    // In the order of the card, whatever the order of asking.
    expect(Object.keys(stages[0]?.lengthsMm ?? {})).toEqual(['top', 'back', 'nape']);
  });

  it('dusts growing zones only, and not on the first day', () => {
    // The top grows 0.2 mm a day, 8 mm in 40 days: less than the 9 mm dusted off the back, and cut back to 60.
    const slow = { ...profile, mean: [0, 0, -0.15, 0, 0, 0, 0, 0] };
    const { stages } = path([zone('top', 90, 60), zone('nape', 6, 41), zone('back', 50, 85)], {
      profile: slow,
      dustMm: 9,
      stageEveryDays: 40,
    });
    expect(stages[0]?.takeOffMm).toEqual({ top: 30, back: 0, nape: 0 });
    // Back and nape grow 14 mm.
    expect(stages[1]?.lengthsMm).toEqual({
      top: 60,
      back: expect.closeTo(55, 8),
      nape: expect.closeTo(11, 8),
    });
    expect(stages[1]?.takeOffMm).toEqual({
      top: expect.closeTo(8, 8),
      back: expect.closeTo(9, 8),
      nape: expect.closeTo(9, 8),
    });
  });

  it('blends only zones that are spoken of, and leaves no more than there is', () => {
    const zones = [zone('top', 70, 40), zone('back', 95, 130)];
    const blended = (zoneBlent: ReshapeZone['zone'], against: ReshapeZone['zone'], maxShorterMm = 10) =>
      path(zones, { blend: [{ zone: zoneBlent, against, maxShorterMm }] }).stages[0]?.lengthsMm;
    expect(blended('top', 'back', 30)).toEqual({ top: 65, back: 95 });
    // 85 would be asked for; 70 is what there is.
    expect(blended('top', 'back', 10)).toEqual({ top: 70, back: 95 });
    expect(blended('top', 'back', 60)).toEqual({ top: 40, back: 95 });
    expect(blended('top', 'nape')).toEqual({ top: 40, back: 95 });
    expect(blended('nape', 'back')).toEqual({ top: 40, back: 95 });
  });
});

describe('what a reshape says', () => {
  it('says of each zone what comes off or lacks', () => {
    const { zones } = path([zone('top', 90, 60.4), zone('crown', 50, 50), zone('back', 50, 85)]);
    expect(zones.map(({ state, words }) => [state, words])).toEqual([
      ['cut-now', 'take off 30 mm'],
      ['cut-now', 'as wanted today'],
      ['grow', 'too short today, 35 mm missing, there about 2026-06-10'],
    ]);
    expect(zones.map(({ ready50On, ready90Days }) => [ready50On, ready90Days])).toEqual([
      [on, 0],
      [on, 0],
      // Closed form 35 / (0.35 - 1.2816 × √(0.06² + 0.028²)) = 132.02.
      ['2026-06-10', 132],
    ]);
  });

  it.each([
    ['back', 35, 25],
    ['nape', 25, 35],
    // The first asked for of equals.
    ['back', 35, 35],
  ])('names the zone that takes longest: the %s', (slowest, backLacksMm, napeLacksMm) => {
    const { words, ready50On, ready90On } = path([
      zone('top', 90, 60),
      zone('back', 50, 50 + backLacksMm),
      zone('nape', 6, 6 + napeLacksMm),
    ]);
    expect(words).toBe(`From about ${ready50On}, almost surely by ${ready90On}: the ${slowest} lacks 35 mm.`);
  });

  it.each<[string, string, Partial<ReshapeZone>, Partial<ReshapeInput>]>([
    ['ENGINE.OUT_OF_RANGE', 'stageEveryDays', {}, { stageEveryDays: 6 }],
    ['ENGINE.OUT_OF_RANGE', 'dustMm', {}, { dustMm: -1 }],
    ['ENGINE.OUT_OF_RANGE', 'presentMm', { presentMm: -1 }, {}],
    ['ENGINE.OUT_OF_RANGE', 'presentSdMm', { presentSdMm: 201 }, {}],
    ['ENGINE.OUT_OF_RANGE', 'wantedMm', { wantedMm: 2001 }, {}],
    ['ENGINE.OUT_OF_RANGE', 'terminalMm', { terminalMm: -1 }, {}],
    [
      'ENGINE.OUT_OF_RANGE',
      'maxShorterMm',
      {},
      { blend: [{ zone: 'back', against: 'top', maxShorterMm: -1 }] },
    ],
    ['ENGINE.IMPOSSIBLE', 'wantedMm', { terminalMm: 84 }, {}],
    // 40 × 0.35 = 14 mm.
    ['ENGINE.IMPOSSIBLE', 'dustMm', {}, { dustMm: 14.1, stageEveryDays: 40 }],
  ])('refuses with %s, naming %s', (code, field, zoneChange, changes) => {
    expect(() => path([{ ...zone('back', 50, 85), ...zoneChange }], changes)).toThrow(
      expect.objectContaining({ code, field }),
    );
  });

  it('says what to do instead', () => {
    expect(() => path([{ ...zone('left-side', 50, 85), terminalMm: 80 }])).toThrow(
      'The left side is not expected to grow beyond 80 mm: want less of it.',
    );
    expect(() => path([zone('left-side', 50, 85)], { dustMm: 15, stageEveryDays: 40 })).toThrow(
      'Taking 15 mm off the left side every 40 days takes as much as grows: dust less, or less often.',
    );
  });

  it('grows a zone up to its terminal length', () => {
    expect(path([{ ...zone('back', 50, 85), terminalMm: 85 }]).ready50Days).toBe(100);
    expect(path([{ ...zone('back', 50, 85), terminalMm: 380 }]).ready50Days).toBe(100);
    // What is long enough already has reached it, whatever was thought.
    expect(path([{ ...zone('back', 90, 85), terminalMm: 80 }]).feasibleToday).toBe(true);
  });
});
