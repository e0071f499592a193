import { dateIn, instantAt } from '../src/base/index.js';

const DAY_MS = 86_400_000;
const MINUTE_MS = 60_000;
const NOON = 720;

/** A calendar date as days since 1970-01-01, so that the demo can reckon with it. */
export type Day = number;

/** The salon's days and wall clock. What needs the time-zone data is asked once a day. */
export class Calendar {
  readonly today: Day;
  /** Minutes since midnight that the wall clock showed when the demo was planted. */
  readonly nowMinute: number;
  private readonly dates = new Map<Day, string>();
  private readonly noons = new Map<Day, number>();

  constructor(
    readonly zone: string,
    readonly now: number,
  ) {
    this.today = this.day(dateIn(zone, now));
    this.nowMinute = NOON + Math.floor((now - this.at(this.today, NOON)) / MINUTE_MS);
  }

  /** 'YYYY-MM-DD'. */
  date(day: Day): string {
    return kept(this.dates, day, () => new Date(day * DAY_MS).toISOString().slice(0, 10));
  }

  /** The day of a 'YYYY-MM-DD'. */
  day(date: string): Day {
    return Date.parse(date) / DAY_MS;
  }

  /** ISO: 1 Monday to 7 Sunday. */
  weekday(day: Day): number {
    return ((((day + 3) % 7) + 7) % 7) + 1;
  }

  /** Instant of a time of the working day, in minutes since midnight. Noon leads there, as clocks change before it. */
  at(day: Day, minute: number): number {
    const noon = kept(this.noons, day, () => instantAt(this.zone, this.date(day), '12:00'));
    return noon + (minute - NOON) * MINUTE_MS;
  }

  /** One past the day's last instant. */
  endOf(day: Day): number {
    return this.at(day, 2 * NOON);
  }
}

function kept<T>(cache: Map<Day, T>, day: Day, make: () => T): T {
  const known = cache.get(day);
  if (known !== undefined) return known;
  const made = make();
  cache.set(day, made);
  return made;
}
