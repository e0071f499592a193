import { describe, expect, it } from '@jest/globals';
import { localDays } from './local-days.js';
import { workingStretches } from './working-stretches.js';

const iso = (instant: number) => new Date(instant).toISOString().slice(0, 16);
const at = (text: string) => Date.parse(`${text}Z`);

function works(
  zone: string,
  date: string,
  times: [string, string][],
  off: [string, string][] = [],
): string[][] {
  const week = [1, 2, 3, 4, 5, 6, 7].flatMap((weekday) =>
    times.map(([startsAt, endsAt]) => ({ weekday, startsAt, endsAt })),
  );
  const daysOff = off.map(([startsOn, endsOn]) => ({ startsOn, endsOn }));
  return workingStretches(localDays(zone, date, date), week, daysOff).map((stretch) => [
    iso(stretch.startsAt),
    iso(stretch.endsAt),
  ]);
}

describe('workingStretches', () => {
  it('keeps 09:00 at 09:00 on either side of a change of the clock', () => {
    const week = [{ weekday: 7, startsAt: '09:00', endsAt: '17:00' }];
    const found = workingStretches(localDays('Europe/London', '2026-03-22', '2026-03-29'), week, []);
    // IANA tzdata: Europe/London goes to UTC+1 at 2026-03-29 01:00 UTC.
    expect(found.map(({ date, startsAt }) => [date, iso(startsAt)])).toEqual([
      ['2026-03-22', '2026-03-22T09:00'],
      ['2026-03-29', '2026-03-29T08:00'],
    ]);
  });

  it('joins stretches that touch and keeps breaks', () => {
    expect(
      works('UTC', '2026-06-01', [
        ['13:00', '17:00'],
        ['09:00', '12:00'],
        ['12:00', '12:30'],
      ]),
    ).toEqual([
      ['2026-06-01T09:00', '2026-06-01T12:30'],
      ['2026-06-01T13:00', '2026-06-01T17:00'],
    ]);
  });

  it.each([
    ['2026-06-01', '2026-06-01'],
    ['2026-05-20', '2026-06-01'],
    ['2026-06-01', '2026-06-09'],
  ] as const)('leaves out days off %s to %s', (startsOn, endsOn) => {
    expect(works('UTC', '2026-06-01', [['09:00', '17:00']], [[startsOn, endsOn]])).toEqual([]);
    expect(works('UTC', '2026-06-10', [['09:00', '17:00']], [[startsOn, endsOn]])).toHaveLength(1);
  });

  // The instants of change are those of the IANA data (tzdata 2025b) for 2026.
  it.each([
    ['Europe/London', '2026-03-29', '2026-03-29T01:00'],
    ['America/New_York', '2026-03-08', '2026-03-08T07:00'],
    ['Australia/Sydney', '2026-10-04', '2026-10-03T16:00'],
  ])('has no work inside the hour that %s skips', (zone, date, change) => {
    const gap: [string, string] = zone === 'Europe/London' ? ['01:00', '02:00'] : ['02:00', '03:00'];
    expect(works(zone, date, [gap])).toEqual([]);
    const [day] = localDays(zone, date, date);
    expect(day!.endsAt - day!.startsAt).toBe(23 * 3_600_000);
    // 00:00-04:00 on the clock is three hours long.
    const [[from, to]] = works(zone, date, [['00:00', '04:00']]) as [[string, string]];
    expect(at(to) - at(from)).toBe(3 * 3_600_000);
    expect(at(from) < at(change) && at(change) < at(to)).toBe(true);
  });

  it.each([
    ['Europe/London', '2026-10-25', '2026-10-25T01:00'],
    ['America/New_York', '2026-11-01', '2026-11-01T06:00'],
    ['Australia/Sydney', '2026-04-05', '2026-04-04T16:00'],
  ])('works through the hour that %s doubles', (zone, date, change) => {
    const [[from, to]] = works(zone, date, [['00:00', '04:00']]) as [[string, string]];
    expect(at(to) - at(from)).toBe(5 * 3_600_000);
    expect(at(from) < at(change) && at(change) < at(to)).toBe(true);
  });
});
