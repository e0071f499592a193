import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';

import { addDays, growthPrior, initialProfile, observeGrowth } from '../growth/index.js';
import { ZONES } from '../zones.js';
import {
  batchOf,
  type HoldLimit,
  packWindow,
  rebookingWindow,
  type WindowInput,
  windowsOf,
} from './index.js';

const profile = initialProfile(growthPrior());
const cutOn = '2026-03-02';
const zones = ZONES.map((zone, i) => ({ zone, leftMm: 20 + 10 * i, leftSdMm: 2 }));

const window = (limits: readonly HoldLimit[], changes: Partial<WindowInput> = {}) =>
  rebookingWindow({ profile, cutOn, zones, limits, ...changes });

describe('rebookingWindow', () => {
  // Arithmetic of the trade figure 0.35 mm a day: 13 / 0.35 = 37.1, 6 / 0.35 = 17.1, 3 / 0.35 = 8.6.
  it('gives 37 days from a fringe at the brow to the lid margin', () => {
    const limit: HoldLimit = {
      kind: 'landmark',
      zone: 'fringe',
      landmark: 'upper lid margin',
      allowanceMm: 13,
    };
    const { dueDays, dueOn, first } = window([limit]);
    expect(dueDays).toBe(37);
    expect(dueOn).toBe('2026-04-08');
    expect(first).toMatchObject({ limit, reason: 'the fringe reaches the upper lid margin', probability: 1 });
  });

  it('gives 17 days until a 6 mm nape has doubled, 9 for 3 mm', () => {
    const nape = (leftMm: number) =>
      window([{ kind: 'longer-than', zone: 'nape', mm: 2 * leftMm }], {
        zones: [{ zone: 'nape', leftMm, leftSdMm: 0 }],
      });
    expect(nape(6).dueDays).toBe(17);
    expect(nape(3).dueDays).toBe(9);
  });

  // Closed form for one limit: 12 - 0.35 t = z t 0.0662 at t = 12 / (0.35 + z 0.0662), z = 1.2816.
  it('puts earliest and latest where the normal distribution has 10 and 90 %', () => {
    const sd = Math.hypot(0.06, 0.028);
    const { earliestDays, latestDays, survival } = window([{ kind: 'grown-by', zone: 'nape', mm: 12 }]);
    expect(earliestDays).toBe(Math.round(12 / (0.35 + 1.2815515655 * sd)));
    expect(latestDays).toBe(Math.round(12 / (0.35 - 1.2815515655 * sd)));
    expect(survival(12 / 0.35)).toBeCloseTo(0.5, 5);
    expect(survival(0)).toBeCloseTo(1, 5);
  });

  it('comes earlier the more zones can fail, and leads with the one that goes first', () => {
    const nape: HoldLimit = { kind: 'grown-by', zone: 'nape', mm: 12 };
    const others = (['top', 'back'] as const).map(
      (zone): HoldLimit => ({ kind: 'grown-by', zone, mm: 12.4 }),
    );
    const both = window([...others, nape]);
    expect(both.dueDays).toBeLessThan(window([nape]).dueDays);
    expect(both.first.limit).toBe(nape);
    expect(both.perZone.map(({ zone }) => zone).sort()).toEqual(['back', 'nape', 'top']);
    expect(both.perZone.reduce((sum, { probability }) => sum + probability, 0)).toBeCloseTo(1, 10);
    expect(both.first.dueDays).toBe(34);
  });

  it('lists the zones by what goes first, not by their place on the card', () => {
    const grown = (zone: (typeof ZONES)[number], mm: number): HoldLimit => ({ kind: 'grown-by', zone, mm });
    const { perZone, first } = window([
      grown('fringe', 13),
      grown('nape', 18),
      grown('nape', 12),
      grown('top', 12.5),
      grown('crown', 13.5),
    ]);
    // All grow at the same rate: the nearer the limit the likelier it goes first.
    expect(perZone.map(({ zone }) => zone)).toEqual(['nape', 'top', 'fringe', 'crown']);
    expect(perZone[0]).toBe(first);
    expect(first.limit).toMatchObject({ mm: 12 });
  });

  it('counts a limit once however often it is given', () => {
    const nape: HoldLimit = { kind: 'grown-by', zone: 'nape', mm: 12 };
    const once = window([nape]);
    const often = window([nape, { ...nape, mm: 18 }, nape]);
    expect([often.earliestDays, often.dueDays, often.latestDays]).toEqual([
      once.earliestDays,
      once.dueDays,
      once.latestDays,
    ]);
  });

  it('is due at once where a limit is passed already, and says where it never ends', () => {
    expect(window([{ kind: 'longer-than', zone: 'nape', mm: 10 }])).toMatchObject({
      dueOn: cutOn,
      latestOn: cutOn,
    });
    const never = window([
      { kind: 'contrast', zone: 'nape', against: 'back', by: 'difference', value: -500 },
    ]);
    expect(never.beyondHorizon).toEqual(['earliest', 'due', 'latest']);
    expect(never.dueOn).toBe(addDays(cutOn, 730));
    // Nothing ever goes: what leads is as sure to as anything can be.
    expect(never.first.probability).toBe(1);
  });

  it('counts from the day a zone was last cut', () => {
    const nape: HoldLimit = { kind: 'grown-by', zone: 'nape', mm: 12 };
    const earlier = window([nape], {
      zones: [{ zone: 'nape', leftMm: 6, leftSdMm: 0, leftOn: addDays(cutOn, -20) }],
    });
    expect(earlier.dueDays).toBe(window([nape]).dueDays - 20);
  });

  it.each<[string, readonly HoldLimit[], Partial<WindowInput>]>([
    ['limits', [], {}],
    ['mm', [{ kind: 'grown-by', zone: 'nape', mm: Number.NaN }], {}],
    ['mm', [{ kind: 'longer-than', zone: 'nape', mm: 2001 }], {}],
    ['allowanceMm', [{ kind: 'landmark', zone: 'fringe', landmark: 'brow' }], {}],
    ['against', [{ kind: 'contrast', zone: 'nape', against: 'nape', by: 'ratio', value: 2 }], {}],
    ['value', [{ kind: 'contrast', zone: 'nape', against: 'back', by: 'ratio', value: 0 }], {}],
    ['zones', [{ kind: 'longer-than', zone: 'nape', mm: 20 }], { zones: [] }],
    ['leftSdMm', [{ kind: 'root-band', mm: 9 }], { zones: [{ zone: 'nape', leftMm: 9, leftSdMm: -1 }] }],
    ['zone', [{ kind: 'grown-by', zone: 'beard' as 'nape', mm: 9 }], {}],
    ['on', [{ kind: 'grown-by', zone: 'nape', mm: 9 }], { cutOn: '2026-13-01' }],
  ])('names %s when it cannot be used', (field, limits, changes) => {
    expect(() => window(limits, changes)).toThrow(expect.objectContaining({ name: 'EngineError', field }));
  });
});

it('a window asks for a limit, in words', () => {
  expect(() => window([])).toThrow(
    expect.objectContaining({
      code: 'ENGINE.IMPOSSIBLE',
      message: 'A rebooking window needs at least one hold limit.',
    }),
  );
});

const zoneAt = fc.constantFrom(...ZONES);
const anyLimit: fc.Arbitrary<HoldLimit> = fc.oneof(
  fc.record({
    kind: fc.constant('grown-by' as const),
    zone: zoneAt,
    mm: fc.double({ min: 0, max: 60, noNaN: true }),
  }),
  fc.record({
    kind: fc.constant('longer-than' as const),
    zone: zoneAt,
    mm: fc.integer({ min: 0, max: 200 }),
  }),
  fc.record({
    kind: fc.constant('weight-line' as const),
    zone: zoneAt,
    dropMm: fc.integer({ min: 1, max: 40 }),
    sdMm: fc.integer({ min: 0, max: 5 }),
  }),
  fc.record({
    kind: fc.constant('contrast' as const),
    zone: fc.constant('fringe' as const),
    against: fc.constantFrom('top' as const, 'nape' as const),
    by: fc.constantFrom('difference' as const, 'ratio' as const),
    value: fc.double({ min: 0.5, max: 4, noNaN: true }),
  }),
  fc.record({ kind: fc.constant('root-band' as const), mm: fc.integer({ min: 1, max: 40 }) }),
);
const anyInput = fc.record({
  limits: fc.array(anyLimit, { minLength: 1, maxLength: 7 }),
  leftSdMm: fc.constantFrom(0, 1, 4),
});

describe('any window', () => {
  it('has its days in order, a survival that falls, shares that add up', () => {
    fc.assert(
      fc.property(anyInput, ({ limits, leftSdMm }) => {
        const result = window(limits, { zones: zones.map((zone) => ({ ...zone, leftSdMm })) });
        expect(result.earliestDays).toBeLessThanOrEqual(result.dueDays);
        expect(result.dueDays).toBeLessThanOrEqual(result.latestDays);
        for (const outlook of result.perZone) expect(outlook.probability).toBeGreaterThanOrEqual(0);
        for (const day of [0, 1, 30, 400]) {
          expect(result.survival(day)).toBeGreaterThanOrEqual(-1e-9);
          expect(result.survival(day)).toBeLessThanOrEqual(1 + 1e-9);
        }
      }),
      { numRuns: 150, seed: 11 },
    );
  });

  it('is the same in a batch, to the day', () => {
    fc.assert(
      fc.property(fc.array(anyInput, { minLength: 1, maxLength: 8 }), (inputs) => {
        const book = inputs.map(({ limits, leftSdMm }) => ({
          profile,
          cutOn,
          limits,
          zones: zones.map((zone) => ({ ...zone, leftSdMm })),
        }));
        const batch = windowsOf(batchOf(book.map(packWindow)));
        book.forEach((input, i) => {
          const { earliestDays, dueDays, latestDays } = rebookingWindow(input);
          expect([batch.earliestDays[i], batch.dueDays[i], batch.latestDays[i]]).toEqual([
            earliestDays,
            dueDays,
            latestDays,
          ]);
          expect(input.limits[batch.limit[i] ?? -1]).toBeDefined();
        });
      }),
      { numRuns: 30, seed: 12 },
    );
  });
});

describe('packWindow', () => {
  const input: WindowInput = { profile, cutOn, zones, limits: [{ kind: 'grown-by', zone: 'nape', mm: 12 }] };
  const learned = observeGrowth(profile, {
    zone: 'top',
    leftMm: 30,
    leftSdMm: 1,
    days: 35,
    measuredMm: 44,
    measuredSdMm: 5,
    on: cutOn,
  }).profile;

  it.each<[string, Partial<WindowInput>]>([
    ['a measurement', { profile: learned }],
    ['a cut', { zones: zones.map((zone) => ({ ...zone, leftSdMm: 1 })) }],
    ['a limit', { limits: [{ kind: 'grown-by', zone: 'nape', mm: 12.1 }] }],
    ['a day of cutting', { zones: zones.map((zone) => ({ ...zone, leftOn: '2026-02-20' })) }],
  ])('changes with %s, so that a stored row shows when it is stale', (_, change) => {
    expect(packWindow(input)).toEqual(packWindow({ ...input }));
    expect(packWindow({ ...input, ...change })).not.toEqual(packWindow(input));
  });
});
