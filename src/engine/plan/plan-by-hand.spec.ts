import { describe, expect, it } from '@jest/globals';

import { addDays, daysBetween, growthPrior, initialProfile } from '../growth/index.js';
import { planTidies, type TidiesInput } from './index.js';

const START = '2026-03-02';
const at = (day: number) => addDays(START, day);

/**
 * At 0.35 mm a day the nape holds 14 / 0.35 = 40 days, the back 35 / 0.35 = 100. Every tenth day can be booked. All was
 * cut on the first day; a full cut is not due within the plan unless a case says so.
 */
const input: TidiesInput = {
  profile: initialProfile(growthPrior()),
  from: START,
  horizonDays: 90,
  zones: [
    { zone: 'nape', leftMm: 6, leftSdMm: 0, cutOn: START },
    { zone: 'back', leftMm: 60, leftSdMm: 0, cutOn: START },
  ],
  limits: [
    { kind: 'longer-than', zone: 'nape', mm: 20 },
    { kind: 'grown-by', zone: 'back', mm: 35 },
  ],
  full: { name: 'full cut', price: 6500, minutes: 60 },
  lastFullOn: START,
  fullEveryWeeks: 30,
  tidies: [
    { name: 'nape tidy', zones: ['nape'], price: 1500, minutes: 15 },
    { name: 'back tidy', zones: ['back'], price: 2000, minutes: 10 },
  ],
  wish: 'price',
  allowed: (on) => daysBetween(START, on) % 10 === 0,
};
const plan = (changes: Partial<TidiesInput> = {}) => planTidies({ ...input, ...changes });
const visits = (changes: Partial<TidiesInput>) =>
  plan(changes).cuts.map(({ on, services }) => [daysBetween(START, on), ...services]);

describe('planTidies by hand', () => {
  it('tidies the nape on the last days that do, and counts what each zone grows meanwhile', () => {
    const found = plan();
    expect(found.cuts).toEqual(
      [40, 80].map((day) => ({
        on: at(day),
        kind: 'tidy',
        services: ['nape tidy'],
        zones: ['nape'],
        price: 1500,
        minutes: 15,
      })),
    );
    expect(found).toMatchObject({ visits: 2, price: 3000, minutes: 30, habit: null, overdue: [] });
    // In the order of the card. The back is not cut at all: 90 days, 31.5 mm on 60; the nape 40 days, 14 mm on 6.
    expect(found.reach).toEqual([
      {
        zone: 'back',
        limit: input.limits[1],
        uncutDays: 90,
        grownMm: expect.closeTo(31.5, 8),
        longestMm: expect.closeTo(91.5, 8),
      },
      {
        zone: 'nape',
        limit: input.limits[0],
        uncutDays: 40,
        grownMm: expect.closeTo(14, 8),
        longestMm: expect.closeTo(20, 8),
      },
    ]);
    expect(found.words).toBe('2 visits in 90 days, the nape never past 20 mm.');
    expect(plan({ horizonDays: 70 }).words).toBe('1 visit in 10 weeks, the nape never past 20 mm.');
  });

  it('joins tidies in one visit', () => {
    // From day 45 on the back holds to the end, and it must be cut by day 100: only with the nape on day 80.
    const found = plan({ horizonDays: 145 });
    expect(found.cuts.map(({ services }) => services)).toEqual([
      ['nape tidy'],
      ['nape tidy', 'back tidy'],
      ['nape tidy'],
    ]);
    expect(found.cuts[1]).toEqual({
      on: at(80),
      kind: 'tidy',
      services: ['nape tidy', 'back tidy'],
      zones: ['nape', 'back'],
      price: 3500,
      minutes: 25,
    });
    expect(found).toMatchObject({ visits: 3, price: 6500, minutes: 55 });
  });

  it('makes least what the client wishes, then the other', () => {
    // On day 80 two tidies cost 3500 and 25 minutes.
    const full = (price: number, minutes: number, wish: TidiesInput['wish']) =>
      plan({ horizonDays: 145, full: { name: 'full cut', price, minutes }, wish }).cuts[1]?.kind;
    expect(full(3600, 20, 'price')).toBe('tidy');
    expect(full(3600, 20, 'minutes')).toBe('full');
    expect(full(3400, 30, 'price')).toBe('full');
    expect(full(3400, 30, 'minutes')).toBe('tidy');
    // Equal in what is wished.
    expect(full(3500, 24, 'price')).toBe('full');
    expect(full(3500, 26, 'price')).toBe('tidy');
    expect(full(3400, 25, 'minutes')).toBe('full');
    expect(full(3600, 25, 'minutes')).toBe('tidy');
  });

  it('comes less often where coming itself costs', () => {
    // The back now holds 60 days, to day 110 from day 50 on: with the nape on days 40 and 80 it is cut twice (7000 in
    // two visits), else once by itself on day 60 (5000 in three).
    const changes: Partial<TidiesInput> = {
      horizonDays: 110,
      limits: [input.limits[0] as (typeof input.limits)[number], { kind: 'grown-by', zone: 'back', mm: 21 }],
    };
    expect(plan(changes)).toMatchObject({ visits: 3, price: 5000 });
    expect(plan({ ...changes, visitCost: 1999 })).toMatchObject({ visits: 3, price: 5000 });
    expect(plan({ ...changes, visitCost: 2001 })).toMatchObject({ visits: 2, price: 7000 });
  });

  it('counts each zone from its own last cut', () => {
    const zones = [
      { zone: 'back', leftMm: 60, leftSdMm: 0, cutOn: START },
      { zone: 'nape', leftMm: 6, leftSdMm: 0, cutOn: at(-15) },
    ] as const;
    // The nape holds to day 25: it is cut on day 20, 35 days after its last cut, and on day 60, 40 days later.
    expect(visits({ zones })).toEqual([
      [20, 'nape tidy'],
      [60, 'nape tidy'],
    ]);
    expect(plan({ zones }).reach.map(({ uncutDays }) => uncutDays)).toEqual([90, 40]);
    expect(plan({ zones, horizonDays: 30 }).reach.map(({ uncutDays }) => uncutDays)).toEqual([30, 35]);
  });

  it('is in time on the day on which a zone still holds, late a day after', () => {
    const left = (days: number) => input.zones.map((zone) => ({ ...zone, cutOn: at(-days) }));
    expect(plan({ zones: left(40) }).overdue).toEqual([]);
    expect(visits({ zones: left(40) })[0]).toEqual([0, 'nape tidy']);
    expect(plan({ zones: left(41) }).overdue).toEqual(['nape']);
    expect(visits({ zones: left(41) })[0]).toEqual([0, 'nape tidy']);
  });

  it('makes a full cut when it is due, at once where it is overdue', () => {
    // 30 weeks are 210 days: 140 before, 70 to go. The nape needs a visit by day 40, and holds from there to day 80.
    expect(visits({ horizonDays: 70, lastFullOn: at(-140) })).toEqual([[40, 'nape tidy']]);
    expect(visits({ horizonDays: 80, lastFullOn: at(-140) })).toEqual([[40, 'full cut']]);
    expect(visits({ horizonDays: 40, lastFullOn: at(-300) })).toEqual([[0, 'full cut']]);
    expect(plan({ horizonDays: 40, lastFullOn: at(-300) }).cuts[0]).toMatchObject({
      kind: 'full',
      zones: ['nape', 'back'],
    });
  });

  it('uses the last day of the plan but one', () => {
    expect(visits({ horizonDays: 41, allowed: (on) => on === at(40) })).toEqual([[40, 'nape tidy']]);
  });
});

describe('planTidies against the habit', () => {
  it('counts the full cuts from the last one, the last day of the plan with them', () => {
    // Days 30, 60 and 90.
    expect(plan({ habitEveryDays: 30 }).habit).toMatchObject({
      visits: 3,
      price: 3 * 6500,
      minutes: 180,
      pastLimit: [],
    });
    // The last one 70 days ago: late already, so on days 0, 30, 60 and 90.
    expect(plan({ habitEveryDays: 30, lastFullOn: at(-70) }).habit?.visits).toBe(4);
    // 29.6 days are 30.
    expect(plan({ habitEveryDays: 29.6 }).habit?.visits).toBe(3);
  });

  it('lets a zone pass its limit from the day after its hold, each zone by its own', () => {
    expect(plan({ habitEveryDays: 40 }).habit?.pastLimit).toEqual([]);
    expect(plan({ habitEveryDays: 41 }).habit?.pastLimit).toEqual(['nape']);
    // The back goes 60 days uncut here, more than the nape could.
    const [nape, back] = input.zones as [TidiesInput['zones'][number], TidiesInput['zones'][number]];
    const habit = plan({ zones: [nape, { ...back, cutOn: at(-30) }], habitEveryDays: 30 }).habit;
    expect(habit?.reach.map(({ uncutDays }) => uncutDays)).toEqual([60, 30]);
    expect(habit?.pastLimit).toEqual([]);
  });

  it('says what the habit comes to', () => {
    expect(plan({ habitEveryDays: 30 }).words).toBe(
      '2 visits instead of 3 in 90 days, the nape never past 20 mm.',
    );
    // In 182 days, what is planned for when nothing is said, the nape is cut on days 40, 80, 120 and 160, and the back,
    // which from day 80 would only hold to day 180, by itself.
    expect(plan({ horizonDays: undefined, habitEveryDays: 120 } as Partial<TidiesInput>).words).toBe(
      '5 visits instead of 1 in 26 weeks, the nape never past 20 mm; as it is now, the back and the nape would pass the limit.',
    );
  });

  it('names the zone that holds shortest, the first on the card of equals', () => {
    const limits = (backMm: number) => [
      { kind: 'longer-than', zone: 'nape', mm: 20 } as const,
      { kind: 'grown-by', zone: 'back', mm: backMm } as const,
    ];
    // 30 days × 0.35 = 10.5 mm; 40 days, 14 mm.
    expect(plan({ limits: limits(10.6) }).words).toContain('the back never past 71 mm.');
    expect(plan({ limits: limits(14) }).words).toContain('the back never past 74 mm.');
  });
});

describe('planTidies refuses', () => {
  const refusal = (changes: Partial<TidiesInput>) => () => plan(changes);

  it.each<[string, Partial<TidiesInput>]>([
    ['horizonDays', { horizonDays: 0 }],
    ['horizonDays', { horizonDays: 731 }],
    ['fullEveryWeeks', { fullEveryWeeks: 0.5 }],
    ['fullEveryWeeks', { fullEveryWeeks: 105 }],
    ['price', { full: { name: 'full cut', price: -1, minutes: 60 } }],
    ['minutes', { tidies: [{ name: 'nape tidy', zones: ['nape'], price: 1500, minutes: 1441 }] }],
    ['visitCost', { visitCost: -1 }],
    ['habitEveryDays', { habitEveryDays: 0 }],
    ['habitEveryDays', { habitEveryDays: 731 }],
  ])('%s out of range', (field, changes) => {
    expect(refusal(changes)).toThrow(expect.objectContaining({ code: 'ENGINE.OUT_OF_RANGE', field }));
  });

  it('to plan for nothing', () => {
    expect(refusal({ limits: [{ kind: 'root-band', mm: 9 }] })).toThrow(
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'limits',
        message: 'No zone has a limit that is ever reached: nothing to plan.',
      }),
    );
  });

  it('what cannot be done, and says what is in the way', () => {
    const inTheWay = (zone: string, days: number, limit: string) =>
      expect.objectContaining({
        code: 'ENGINE.IMPOSSIBLE',
        field: 'allowed',
        message: `No choice of the allowed days keeps every zone within its limit. The ${zone} holds ${days} days until ${limit}: allow more days, widen that limit or offer a tidy of that zone.`,
      });
    expect(refusal({ allowed: () => false })).toThrow(inTheWay('nape', 40, 'the nape is longer than 20 mm'));
    // Forty-one days from one visit to the next.
    expect(refusal({ allowed: (on) => [at(0), at(41), at(82)].includes(on), horizonDays: 100 })).toThrow(
      inTheWay('nape', 40, 'the nape is longer than 20 mm'),
    );
    expect(refusal({ limits: [{ kind: 'longer-than', zone: 'nape', mm: 5 }] })).toThrow(
      inTheWay('nape', 0, 'the nape is longer than 5 mm'),
    );
    expect(
      refusal({ allowed: () => false, limits: [...input.limits, { kind: 'grown-by', zone: 'back', mm: 7 }] }),
    ).toThrow(inTheWay('back', 20, 'the back has grown by 7 mm'));
  });
});
