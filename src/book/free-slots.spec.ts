import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';
import { localDays, type Stretch, workingStretches } from '../salon/index.js';
import { freeSlots } from './free-slots.js';

const MINUTE = 60_000;
const everyDay = (startsAt: string, endsAt: string) =>
  [1, 2, 3, 4, 5, 6, 7].map((weekday) => ({ weekday, startsAt, endsAt }));
const utc = (instant: number) => new Date(instant).toISOString().slice(11, 16);
const at = (text: string) => Date.parse(text);

function starts(
  zone: string,
  date: string,
  times: [string, string],
  held: Stretch[] = [],
  lengthMinutes = 30,
): number[] {
  const days = localDays(zone, date, date);
  const stretches = workingStretches(days, everyDay(...times), []);
  const rules = { lengthMinutes, shortestMinutes: 30, notBefore: 0 };
  return freeSlots([{ staffId: 'm', stretches, held }], days, rules).map((slot) => slot.startsAt);
}

describe('freeSlots', () => {
  it('fits a length between what is held and the end of work', () => {
    const held = [{ startsAt: at('2026-06-01T09:45Z'), endsAt: at('2026-06-01T10:20Z') }];
    expect(starts('UTC', '2026-06-01', ['09:00', '11:00'], held).map(utc)).toEqual([
      '09:00',
      '09:15',
      '10:30',
    ]);
  });

  it('counts the minutes that a start would lose', () => {
    const days = localDays('UTC', '2026-06-01', '2026-06-01');
    const stretches = workingStretches(days, everyDay('09:00', '10:15'), []);
    const rules = { lengthMinutes: 30, shortestMinutes: 30, notBefore: 0 };
    const slots = freeSlots([{ staffId: 'm', stretches, held: [] }], days, rules);
    expect(slots.map((slot) => [utc(slot.startsAt), slot.lostMinutes])).toEqual([
      ['09:00', 0],
      ['09:15', 15],
      ['09:30', 15],
      ['09:45', 0],
    ]);
  });

  it('offers nothing that has begun', () => {
    const days = localDays('UTC', '2026-06-01', '2026-06-01');
    const stretches = workingStretches(days, everyDay('09:00', '10:00'), []);
    const rules = { lengthMinutes: 15, shortestMinutes: 15, notBefore: at('2026-06-01T09:16Z') };
    const slots = freeSlots([{ staffId: 'm', stretches, held: [] }], days, rules);
    expect(slots.map((slot) => utc(slot.startsAt))).toEqual(['09:30', '09:45']);
  });

  // Instants of change: IANA tzdata 2025b. Wall clock jumps from `gapFrom` by an hour at `change` (UTC).
  it.each([
    ['Europe/London', '2026-03-29', '2026-03-29T01:00Z'],
    ['Europe/London', '2027-03-28', '2027-03-28T01:00Z'],
    ['America/New_York', '2026-03-08', '2026-03-08T07:00Z'],
    ['America/New_York', '2027-03-14', '2027-03-14T07:00Z'],
    ['Australia/Sydney', '2026-10-04', '2026-10-03T16:00Z'],
    ['Australia/Sydney', '2027-10-03', '2027-10-02T16:00Z'],
  ])('has no start in the hour %s skips on %s', (zone, date, change) => {
    const found = starts(zone, date, ['00:00', '06:00']);
    // Six hours on the clock are five real ones: 20 quarter-hours, of which the last cannot hold 30 minutes.
    expect(found).toHaveLength(19);
    const steps = found.slice(1).map((instant, i) => (instant - found[i]!) / MINUTE);
    expect(steps.every((step) => step === 15)).toBe(true);
    expect(found).toContain(at(change));
    const clock = found.map(
      (instant) => Temporal.Instant.fromEpochMilliseconds(instant).toZonedDateTimeISO(zone).hour,
    );
    const gapHour = zone === 'Europe/London' ? 1 : 2;
    expect(clock).not.toContain(gapHour);
    expect(clock.filter((hour) => hour === gapHour + 1)).toHaveLength(4);
  });

  it.each([
    ['Europe/London', '2026-10-25', '2026-10-25T01:00Z'],
    ['Europe/London', '2027-10-31', '2027-10-31T01:00Z'],
    ['America/New_York', '2026-11-01', '2026-11-01T06:00Z'],
    ['America/New_York', '2027-11-07', '2027-11-07T06:00Z'],
    ['Australia/Sydney', '2026-04-05', '2026-04-04T16:00Z'],
    ['Australia/Sydney', '2027-04-04', '2027-04-03T16:00Z'],
  ])('sells the hour %s doubles on %s once', (zone, date, change) => {
    const found = starts(zone, date, ['00:00', '06:00']);
    // 24 quarter-hours on the clock, of which the last cannot hold 30 minutes.
    expect(found).toHaveLength(23);
    const second = at(change);
    expect(found.filter((instant) => instant >= second && instant < second + 60 * MINUTE)).toEqual([]);
    expect(found).toContain(second - 15 * MINUTE);
    expect(found).toContain(second + 60 * MINUTE);
    const clock = found.map((instant) =>
      Temporal.Instant.fromEpochMilliseconds(instant).toZonedDateTimeISO(zone).toPlainTime().toString(),
    );
    expect(new Set(clock).size).toBe(clock.length);
  });

  it('finds what a brute-force search minute by minute finds, on random books', () => {
    const zones = [
      'Europe/London',
      'America/New_York',
      'Australia/Sydney',
      'Asia/Kathmandu',
      'Australia/Lord_Howe',
    ];
    // Days around changes of the clock and one without.
    const firstDays = [
      '2026-03-07',
      '2026-03-28',
      '2026-04-04',
      '2026-10-03',
      '2026-10-24',
      '2026-10-31',
      '2026-06-10',
    ];
    const fiveMinutes = fc.integer({ min: 0, max: 287 }).map((n) => n * 5);
    const time = fiveMinutes.map((m) =>
      new Temporal.PlainTime(Math.floor(m / 60), m % 60).toString().slice(0, 5),
    );
    const week = fc.array(
      fc.record({ weekday: fc.integer({ min: 1, max: 7 }), startsAt: time, endsAt: time }),
      {
        minLength: 4,
        maxLength: 14,
      },
    );
    const book = fc.record({
      zone: fc.constantFrom(...zones),
      from: fc.constantFrom(...firstDays),
      week,
      off: fc.option(fc.integer({ min: 0, max: 2 })),
      // Minutes from the first midnight in UTC; overlaps are allowed here although the book bars them.
      held: fc.array(fc.tuple(fc.integer({ min: -200, max: 900 }), fc.integer({ min: 1, max: 30 })), {
        maxLength: 14,
      }),
      lengthMinutes: fc.integer({ min: 1, max: 30 }).map((n) => n * 5),
      shortestMinutes: fc.integer({ min: 1, max: 9 }).map((n) => n * 5),
      nowMinutes: fc.integer({ min: -900, max: 2000 }),
    });
    fc.assert(
      fc.property(book, ({ zone, from, week, off, held, lengthMinutes, shortestMinutes, nowMinutes }) => {
        const midnight = at(`${from}T00:00Z`);
        const dates = [0, 1, 2].map((n) => Temporal.PlainDate.from(from).add({ days: n }));
        const daysOff =
          off === null ? [] : [{ startsOn: dates[off]!.toString(), endsOn: dates[off]!.toString() }];
        const claims = held
          .map(([start, length]) => ({
            startsAt: midnight + start * 5 * MINUTE,
            endsAt: midnight + (start + length) * 5 * MINUTE,
          }))
          .sort((a, b) => a.startsAt - b.startsAt);
        const notBefore = midnight + nowMinutes * MINUTE;

        const days = localDays(zone, from, dates[2]!.toString());
        const stretches = workingStretches(days, week, daysOff);
        const rules = { lengthMinutes, shortestMinutes, notBefore };
        const fast = freeSlots([{ staffId: 'm', stretches, held: claims }], days, rules);

        // The slow way: which five-minute cells are workable, then try every quarter-hour of the wall clock.
        const free = new Set<number>();
        for (const date of dates) {
          if (daysOff.some((closure) => closure.startsOn === date.toString())) continue;
          for (const entry of week.filter(({ weekday }) => weekday === date.dayOfWeek)) {
            const instant = (text: string) =>
              date.toZonedDateTime({ timeZone: zone, plainTime: Temporal.PlainTime.from(text) })
                .epochMilliseconds;
            for (let cell = instant(entry.startsAt); cell < instant(entry.endsAt); cell += 5 * MINUTE) {
              if (!claims.some((claim) => claim.startsAt <= cell && cell < claim.endsAt)) free.add(cell);
            }
          }
        }
        const slow: number[] = [];
        for (const date of dates) {
          for (let minutes = 0; minutes < 1440; minutes += 15) {
            const wall = date.toPlainDateTime(new Temporal.PlainTime(Math.floor(minutes / 60), minutes % 60));
            const startsAt = wall.toZonedDateTime(zone, { disambiguation: 'earlier' }).epochMilliseconds;
            const skipped =
              startsAt !== wall.toZonedDateTime(zone, { disambiguation: 'later' }).epochMilliseconds &&
              !Temporal.Instant.fromEpochMilliseconds(startsAt)
                .toZonedDateTimeISO(zone)
                .toPlainDateTime()
                .equals(wall);
            if (skipped || startsAt < notBefore) continue;
            let fits = true;
            for (let cell = startsAt; cell < startsAt + lengthMinutes * MINUTE; cell += 5 * MINUTE) {
              fits &&= free.has(cell);
            }
            if (fits) slow.push(startsAt);
          }
        }
        expect(fast.map((slot) => slot.startsAt)).toEqual(slow);
      }),
      { numRuns: 150 },
    );
  });
});
