import { addDays, dayBounds, daysBetween, instantAt, timeIn, weekdayOf } from '../base/index.js';

const MINUTE_MS = 60_000;
const DAY_MINUTES = 1440;

/** A calendar day of a salon: which instants its wall clock names. */
export type LocalDay = {
  readonly date: string;
  /** ISO: 1 Monday to 7 Sunday. */
  readonly weekday: number;
  readonly startsAt: number;
  /** One past the last instant; 23 or 25 hours later on days that change the clock. */
  readonly endsAt: number;
  /** Instant of a wall-clock time given as minutes 0..1439; a skipped one moves past the gap, a doubled one is its first. */
  at(minutes: number): number;
  /** Whether the wall clock ever shows this time on this day. */
  exists(minutes: number): boolean;
};

/** 'HH:MM' to minutes since the wall clock showed 00:00. */
export function minutesOf(time: string): number {
  return Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
}

/** Minutes since the wall clock showed 00:00 to 'HH:MM'. */
export function timeOf(minutes: number): string {
  return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
}

/** The days `from` to `to`, both included, in order. */
export function localDays(zone: string, from: string, to: string): LocalDay[] {
  const count = Math.max(0, daysBetween(from, to) + 1);
  return Array.from({ length: count }, (_, i) => localDay(zone, addDays(from, i)));
}

function localDay(zone: string, date: string): LocalDay {
  const { startsAt, endsAt } = dayBounds(zone, date);
  const weekday = weekdayOf(date);
  if (endsAt - startsAt === DAY_MINUTES * MINUTE_MS) {
    // The clock does not change: asking the time-zone data for every minute of two months would be slow.
    return {
      date,
      weekday,
      startsAt,
      endsAt,
      at: (minutes) => startsAt + minutes * MINUTE_MS,
      exists: () => true,
    };
  }
  const at = (minutes: number) => instantAt(zone, date, timeOf(minutes));
  return {
    date,
    weekday,
    startsAt,
    endsAt,
    at,
    exists: (minutes) => timeIn(zone, at(minutes)) === timeOf(minutes),
  };
}
