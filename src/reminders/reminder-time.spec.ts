import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { Temporal } from 'temporal-polyfill';
import { reminderTime } from './reminder-time.js';

const HOUR_MS = 3_600_000;
const at = (text: string) => Date.parse(text);
const iso = (instant: number | undefined) =>
  instant === undefined ? undefined : new Date(instant).toISOString();

describe('reminderTime', () => {
  const london = (startsAt: string, hoursBefore: number, now: string) =>
    iso(reminderTime({ startsAt: at(startsAt), hoursBefore, zone: 'Europe/London' }, at(now)));

  it('is due the salon’s hours before the start', () => {
    expect(london('2026-06-18T13:30:00Z', 48, '2026-06-01T09:00:00Z')).toBe('2026-06-16T13:30:00.000Z');
  });

  it('goes the evening before when the hour falls in the night', () => {
    // 08:30 in London summer time, and 20:30.
    expect(london('2026-06-18T07:30:00Z', 24, '2026-06-01T09:00:00Z')).toBe('2026-06-16T18:00:00.000Z');
    expect(london('2026-06-18T19:30:00Z', 48, '2026-06-01T09:00:00Z')).toBe('2026-06-16T18:00:00.000Z');
    // 20:00 is already night, 09:00 is day.
    expect(london('2026-06-18T19:00:00Z', 48, '2026-06-01T09:00:00Z')).toBe('2026-06-16T18:00:00.000Z');
    expect(london('2026-06-18T08:00:00Z', 48, '2026-06-01T09:00:00Z')).toBe('2026-06-16T08:00:00.000Z');
  });

  it('goes in the morning when that evening is past, unless the morning is too late', () => {
    // Booked at 19:30; 24 hours before 08:30 is night.
    expect(london('2026-06-18T07:30:00Z', 24, '2026-06-16T18:30:00Z')).toBe('2026-06-17T08:00:00.000Z');
    // Booked at 21:00 for 11:00 and for 10:59 next day.
    expect(london('2026-06-18T10:00:00Z', 48, '2026-06-17T20:00:00Z')).toBe('2026-06-18T08:00:00.000Z');
    expect(london('2026-06-18T09:59:00Z', 48, '2026-06-17T20:00:00Z')).toBeUndefined();
    // Booked at 02:00 at night for that afternoon.
    expect(london('2026-06-18T14:00:00Z', 48, '2026-06-18T01:00:00Z')).toBe('2026-06-18T08:00:00.000Z');
  });

  it('is due at once when booked late, and not owed with less than two hours to go', () => {
    expect(london('2026-06-18T13:30:00Z', 48, '2026-06-18T10:00:00Z')).toBe('2026-06-18T10:00:00.000Z');
    expect(london('2026-06-18T12:00:00Z', 48, '2026-06-18T10:00:00Z')).toBe('2026-06-18T10:00:00.000Z');
    expect(london('2026-06-18T11:59:00Z', 48, '2026-06-18T10:00:00Z')).toBeUndefined();
    expect(london('2026-06-17T11:00:00Z', 48, '2026-06-18T10:00:00Z')).toBeUndefined();
  });

  it('keeps the salon’s own quiet hours, also those that do not run over midnight', () => {
    const due = (startsAt: string, quietFrom: string, quietUntil: string) =>
      iso(
        reminderTime(
          { startsAt: at(startsAt), hoursBefore: 24, zone: 'UTC', quiet: { quietFrom, quietUntil } },
          at('2026-06-01T09:00:00Z'),
        ),
      );
    expect(due('2026-06-18T17:30:00Z', '17:00', '11:00')).toBe('2026-06-17T16:00:00.000Z');
    expect(due('2026-06-18T10:59:00Z', '17:00', '11:00')).toBe('2026-06-16T16:00:00.000Z');
    // A siesta, and no quiet hours at all.
    expect(due('2026-06-18T13:30:00Z', '13:00', '15:00')).toBe('2026-06-17T12:00:00.000Z');
    expect(due('2026-06-18T03:00:00Z', '00:00', '00:00')).toBe('2026-06-17T03:00:00.000Z');
  });

  it('is not owed where the salon sends none', () => {
    expect(london('2026-06-18T13:30:00Z', 0, '2026-06-01T09:00:00Z')).toBeUndefined();
  });

  /*
   * Clock changes of IANA tzdata 2025b. 48 hours of elapsed time are counted across each; the wall clock then
   * shows an hour less in spring, an hour more in autumn. Expected instants worked by hand from the offsets.
   */
  it.each([
    // zone, change, start (noon or 14:00 local, day after), due, wall clock at which it is due
    ['Europe/London', '2026-03-29T01:00Z', '2026-03-30T11:00:00Z', '2026-03-28T11:00:00.000Z', '11:00'],
    ['Europe/London', '2026-10-25T01:00Z', '2026-10-26T12:00:00Z', '2026-10-24T12:00:00.000Z', '13:00'],
    ['America/New_York', '2026-03-08T07:00Z', '2026-03-09T16:00:00Z', '2026-03-07T16:00:00.000Z', '11:00'],
    ['America/New_York', '2026-11-01T06:00Z', '2026-11-02T17:00:00Z', '2026-10-31T17:00:00.000Z', '13:00'],
    ['Australia/Sydney', '2026-10-03T16:00Z', '2026-10-05T01:00:00Z', '2026-10-03T01:00:00.000Z', '11:00'],
    ['Australia/Sydney', '2026-04-04T16:00Z', '2026-04-06T02:00:00Z', '2026-04-04T02:00:00.000Z', '13:00'],
    ['Europe/London', '2027-03-28T01:00Z', '2027-03-29T11:00:00Z', '2027-03-27T11:00:00.000Z', '11:00'],
    ['Europe/London', '2027-10-31T01:00Z', '2027-11-01T12:00:00Z', '2027-10-30T12:00:00.000Z', '13:00'],
    ['America/New_York', '2027-03-14T07:00Z', '2027-03-15T16:00:00Z', '2027-03-13T16:00:00.000Z', '11:00'],
    ['America/New_York', '2027-11-07T06:00Z', '2027-11-08T17:00:00Z', '2027-11-06T17:00:00.000Z', '13:00'],
    ['Australia/Sydney', '2027-10-02T16:00Z', '2027-10-04T01:00:00Z', '2027-10-02T01:00:00.000Z', '11:00'],
    ['Australia/Sydney', '2027-04-03T16:00Z', '2027-04-05T02:00:00Z', '2027-04-03T02:00:00.000Z', '13:00'],
  ])('counts elapsed hours over the change in %s at %s', (zone, change, startsAt, due, wallClock) => {
    const start = Temporal.Instant.from(startsAt).toZonedDateTimeISO(zone);
    expect(start.toPlainTime().toString()).toBe('12:00:00');
    expect(at(due)).toBeLessThan(at(change));
    expect(at(startsAt)).toBeGreaterThan(at(change));

    const result = reminderTime({ startsAt: at(startsAt), hoursBefore: 48, zone }, at(due) - 240 * HOUR_MS);
    expect(iso(result)).toBe(due);
    expect(Temporal.Instant.from(due).toZonedDateTimeISO(zone).toPlainTime().toString()).toBe(
      `${wallClock}:00`,
    );
  });

  /*
   * The same changes, 24 hours before a start at 09:30 on the day of the change: the hour shifts to 08:30 in
   * spring, which is night, so the reminder goes at 19:00 two evenings before; in autumn it is 10:30.
   */
  it.each([
    ['Europe/London', '2026-03-29T08:30:00Z', '2026-03-27T19:00:00.000Z'],
    ['Europe/London', '2026-10-25T09:30:00Z', '2026-10-24T09:30:00.000Z'],
    ['America/New_York', '2026-03-08T13:30:00Z', '2026-03-07T00:00:00.000Z'],
    ['America/New_York', '2026-11-01T14:30:00Z', '2026-10-31T14:30:00.000Z'],
    ['Australia/Sydney', '2026-10-03T22:30:00Z', '2026-10-02T09:00:00.000Z'],
    ['Australia/Sydney', '2026-04-04T23:30:00Z', '2026-04-03T23:30:00.000Z'],
    ['Europe/London', '2027-03-28T08:30:00Z', '2027-03-26T19:00:00.000Z'],
    ['Europe/London', '2027-10-31T09:30:00Z', '2027-10-30T09:30:00.000Z'],
    ['America/New_York', '2027-03-14T13:30:00Z', '2027-03-13T00:00:00.000Z'],
    ['America/New_York', '2027-11-07T14:30:00Z', '2027-11-06T14:30:00.000Z'],
    ['Australia/Sydney', '2027-10-02T22:30:00Z', '2027-10-01T09:00:00.000Z'],
    ['Australia/Sydney', '2027-04-03T23:30:00Z', '2027-04-02T23:30:00.000Z'],
  ])('keeps the quiet hours of %s by its own clock before %s', (zone, startsAt, due) => {
    const start = Temporal.Instant.from(startsAt).toZonedDateTimeISO(zone);
    expect(start.toPlainTime().toString()).toBe('09:30:00');
    const result = reminderTime({ startsAt: at(startsAt), hoursBefore: 24, zone }, at(due) - 240 * HOUR_MS);
    expect(iso(result)).toBe(due);
  });

  it('never disturbs the night, never looks back, always leaves time, in any zone', () => {
    const from = at('2026-01-01T00:00:00Z');
    fc.assert(
      fc.property(
        fc.constantFrom('Europe/London', 'America/New_York', 'Australia/Sydney', 'Asia/Kathmandu'),
        fc.integer({ min: 0, max: 2 * 365 * 24 * 60 }),
        fc.integer({ min: 1, max: 60 * 24 * 60 }),
        fc.integer({ min: 2, max: 168 }),
        (zone, nowMinute, aheadMinutes, hoursBefore) => {
          const now = from + nowMinute * 60_000;
          const startsAt = now + aheadMinutes * 60_000;
          const due = reminderTime({ startsAt, hoursBefore, zone }, now);
          if (due === undefined) return;
          const { hour } = Temporal.Instant.fromEpochMilliseconds(due).toZonedDateTimeISO(zone);
          expect(hour).toBeGreaterThanOrEqual(9);
          expect(hour).toBeLessThan(20);
          expect(due).toBeGreaterThanOrEqual(now);
          expect(startsAt - due).toBeGreaterThanOrEqual(2 * HOUR_MS);
        },
      ),
    );
  });
});
