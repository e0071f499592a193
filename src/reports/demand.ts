import { failedByDay, type WindowDays } from './window-spread.js';

/** A client as the forecast sees her on its day. */
export type DemandClient = {
  /** Her last visit's window, and how many whole days ago that was (at least 1); null: no window is known. */
  readonly window: (WindowDays & { readonly daysAgo: number }) | null;
  /** What a visit of hers takes. */
  readonly minutes: number;
  /** She has never been here: the steady rate of new clients is the less for her. */
  readonly isNew: boolean;
  /** Appointments she holds, as days from the forecast's day (0 or more), in order. */
  readonly booked: readonly { readonly day: number; readonly minutes: number }[];
};

/** What the salon's own record says about all of them. */
export type DemandHabits = {
  /** Share of clients who come again at all after a visit. */
  readonly returnShare: number;
  /** Actual ÷ suggested interval, the median. */
  readonly stretch: number;
  /** Share of visits that were booked at most 0, 1, 2, ... whole days ahead; the last stands for all beyond. */
  readonly bookedWithin: readonly number[];
  /** Share of appointments that are kept. */
  readonly keptShare: number;
  readonly newVisitsPerDay: number;
  readonly newVisitMinutes: number;
};

export type DemandWeek = {
  readonly visits: number;
  readonly visitsLow: number;
  readonly visitsHigh: number;
  readonly minutes: number;
  readonly minutesLow: number;
  readonly minutesHigh: number;
  /** Minutes of appointments already held. */
  readonly bookedMinutes: number;
};

const DAYS_A_WEEK = 7;
/** 95th percentile of the standard normal distribution: 5 % on either side of a 90 % range. */
const Z_90 = 1.6448536269514722;

function stretched({ earliestDays, dueDays, latestDays }: WindowDays, stretch: number): WindowDays {
  return {
    earliestDays: earliestDays * stretch,
    dueDays: dueDays * stretch,
    latestDays: latestDays * stretch,
  };
}

/** Probabilities that the interval after a visit is 0, 1, ... `length` - 1 days, given that there is a next visit. */
function intervals(window: WindowDays, length: number): Float64Array {
  const failed = failedByDay(window, length - 1);
  for (let day = length - 1; day > 0; day -= 1) failed[day] = failed[day]! - failed[day - 1]!;
  return failed;
}

/** Adds the visits that follow those already in `visits`, and those that follow them: a renewal equation. */
function addFollowing(visits: Float64Array, interval: Float64Array, returnShare: number): void {
  for (let day = 0; day < visits.length; day += 1) {
    const from = visits[day]!;
    if (from === 0) continue;
    for (let later = day + 1; later < visits.length; later += 1) {
      visits[later] = visits[later]! + returnShare * from * interval[later - day]!;
    }
  }
}

/** Longest interval looked at: who has not come after so long is not waited for. */
const LONGEST_DAYS = 730;

/**
 * Fills `visits` with the chance that a client without an appointment comes first on each day, given that she has neither
 * come nor booked so far: f the interval, G the share booked within so many days,
 *
 *   P(day t) = r f(a + t) G(t) / (1 - r sum f(before a) - r sum f(a + t) (1 - G(t)))
 *
 * False where nothing is left to wait for.
 */
function firstVisits(
  visits: Float64Array,
  window: WindowDays,
  daysAgo: number,
  { returnShare, bookedWithin }: DemandHabits,
  bookedDays: number,
): boolean {
  const days = Math.max(visits.length, bookedDays);
  const failed = failedByDay(window, daysAgo + days, daysAgo - 1);
  let otherwise = failed[0]!;
  for (let day = 0; day < days; day += 1) {
    const within = bookedWithin[Math.min(day, bookedWithin.length - 1)]!;
    const chance = failed[day + 1]! - failed[day]!;
    if (day < visits.length) visits[day] = returnShare * chance * within;
    otherwise += chance * (1 - within);
  }
  const waiting = 1 - returnShare * otherwise;
  if (waiting <= 0) return false;
  for (let day = 0; day < visits.length; day += 1) visits[day] = visits[day]! / waiting;
  return true;
}

/** Days ahead after which nobody is still to book: beyond them nothing can have been booked so far. */
function lastBooking(bookedWithin: readonly number[]): number {
  const all = bookedWithin.findIndex((share) => share >= 1);
  return all === -1 ? LONGEST_DAYS : all;
}

class Weeks {
  readonly visits: Float64Array;
  readonly minutes: Float64Array;
  readonly booked: Float64Array;
  private readonly visitVariance: Float64Array;
  private readonly minuteVariance: Float64Array;

  constructor(
    readonly count: number,
    private readonly firstDay: number,
  ) {
    this.visits = new Float64Array(count);
    this.minutes = new Float64Array(count);
    this.booked = new Float64Array(count);
    this.visitVariance = new Float64Array(count);
    this.minuteVariance = new Float64Array(count);
  }

  week(day: number): number {
    return Math.floor((day - this.firstDay) / DAYS_A_WEEK);
  }

  /** `independent`: the visits are many people's, each with a small chance, rather than one person's. */
  add(visits: Float64Array, minutes: number, independent: boolean): void {
    for (let week = 0; week < this.count; week += 1) {
      const from = this.firstDay + week * DAYS_A_WEEK;
      let expected = 0;
      for (let day = from; day < from + DAYS_A_WEEK; day += 1) expected += visits[day]!;
      if (expected === 0) continue;
      // Nobody comes twice within a week: one person's visit either happens or does not.
      const variance = independent ? expected : expected * Math.max(0, 1 - expected);
      this.visits[week] = this.visits[week]! + expected;
      this.minutes[week] = this.minutes[week]! + expected * minutes;
      this.visitVariance[week] = this.visitVariance[week]! + variance;
      this.minuteVariance[week] = this.minuteVariance[week]! + variance * minutes * minutes;
    }
  }

  result(): DemandWeek[] {
    return Array.from({ length: this.count }, (_, week) => {
      const visitSd = Math.sqrt(this.visitVariance[week]!);
      const minuteSd = Math.sqrt(this.minuteVariance[week]!);
      const [visits, minutes] = [this.visits[week]!, this.minutes[week]!];
      return {
        visits,
        visitsLow: Math.max(0, visits - Z_90 * visitSd),
        visitsHigh: visits + Z_90 * visitSd,
        minutes,
        minutesLow: Math.max(0, minutes - Z_90 * minuteSd),
        minutesHigh: minutes + Z_90 * minuteSd,
        bookedMinutes: this.booked[week]!,
      };
    });
  }
}

/**
 * Visits and minutes to expect in each of `weekCount` weeks, the first of which begins `firstDay` days from now (0 to 6).
 *
 * A client who holds appointments comes to each with `keptShare`. One who holds none comes again with `returnShare`, and
 * then when her shape gives way: after an interval spread as her window is, times `stretch`, given that she has not come
 * so far, and as far as clients still book so shortly before. Every visit is followed by others in the same way (a renewal process). New clients come at a steady rate, those
 * already in the book among them, and follow suit with the mean interval of the others. The 90 % ranges hold the chance of who comes when, not the doubt
 * about the habits.
 */
export function expectedDemand(
  clients: Iterable<DemandClient>,
  habits: DemandHabits,
  firstDay: number,
  weekCount: number,
): DemandWeek[] {
  const length = firstDay + weekCount * DAYS_A_WEEK;
  const weeks = new Weeks(weekCount, firstDay);
  const meanInterval = new Float64Array(length);
  const known = new Float64Array(weekCount);
  let windows = 0;
  const { returnShare, stretch, keptShare } = habits;
  const visits = new Float64Array(length);
  const bookedDays = lastBooking(habits.bookedWithin);
  for (const { window, minutes, isNew, booked } of clients) {
    for (const { day, minutes: held } of booked) {
      visits.fill(0);
      if (day < length) visits[day] = keptShare;
      weeks.add(visits, held, false);
      const week = weeks.week(day);
      if (isNew && week >= 0) known[week] = (known[week] ?? 0) + keptShare;
      if (week >= 0 && week < weekCount) weeks.booked[week] = weeks.booked[week]! + held;
    }
    if (!window) continue;
    const spread = stretched(window, stretch);
    const interval = intervals(spread, length);
    for (let day = 0; day < length; day += 1) meanInterval[day] = meanInterval[day]! + interval[day]!;
    windows += 1;
    visits.fill(0);
    const last = booked.at(-1);
    if (last && last.day >= length) continue;
    if (last) visits[last.day] = keptShare;
    else if (!firstVisits(visits, spread, window.daysAgo, habits, bookedDays)) continue;
    addFollowing(visits, interval, returnShare);
    if (last) visits[last.day] = visits[last.day]! - keptShare;
    weeks.add(visits, minutes, false);
  }
  const news = Float64Array.from({ length }, (_, day) =>
    Math.max(0, habits.newVisitsPerDay - (known[weeks.week(day)] ?? 0) / DAYS_A_WEEK),
  );
  if (windows > 0) {
    for (let day = 0; day < length; day += 1) meanInterval[day] = meanInterval[day]! / windows;
    addFollowing(news, meanInterval, returnShare);
  }
  weeks.add(news, habits.newVisitMinutes, true);
  return weeks.result();
}
