import { type LocalDay, minutesOf } from './local-days.js';

/** Instants from `startsAt` up to, not including, `endsAt`. */
export type Stretch = { readonly startsAt: number; readonly endsAt: number };

/** A stretch on which somebody works, and the local day it belongs to. */
export type WorkStretch = Stretch & { readonly date: string };

type WeeklyStretch = { readonly weekday: number; readonly startsAt: string; readonly endsAt: string };
/** Of one date instead of the week; without times: nothing. */
type DatedStretch = {
  readonly onDate: string;
  readonly startsAt: string | null;
  readonly endsAt: string | null;
};
type DaysOff = { readonly startsOn: string; readonly endsOn: string };

/**
 * When somebody works on these days: the week's stretches, or those a date has instead, without the days off, in order
 * of time. Stretches that touch are one. Local times stay what they are when the clock changes; what lies in a skipped hour is gone.
 */
export function workingStretches(
  days: readonly LocalDay[],
  week: readonly WeeklyStretch[],
  daysOff: readonly DaysOff[],
  changes: readonly DatedStretch[] = [],
): WorkStretch[] {
  const changed = new Set(changes.map(({ onDate }) => onDate));
  return days.flatMap((day) => {
    if (daysOff.some((off) => off.startsOn <= day.date && day.date <= off.endsOn)) return [];
    const stretches: WorkStretch[] = [];
    const ofDay = (
      changed.has(day.date)
        ? changes.flatMap(({ onDate, startsAt, endsAt }) =>
            onDate === day.date && startsAt !== null && endsAt !== null ? [{ startsAt, endsAt }] : [],
          )
        : week.filter((entry) => entry.weekday === day.weekday)
    ).sort((a, b) => a.startsAt.localeCompare(b.startsAt));
    for (const entry of ofDay) {
      const startsAt = Math.max(day.at(minutesOf(entry.startsAt)), day.startsAt);
      const endsAt = Math.min(day.at(minutesOf(entry.endsAt)), day.endsAt);
      if (endsAt <= startsAt) continue;
      const last = stretches.at(-1);
      if (last && startsAt <= last.endsAt) {
        stretches[stretches.length - 1] = { ...last, endsAt: Math.max(last.endsAt, endsAt) };
      } else {
        stretches.push({ date: day.date, startsAt, endsAt });
      }
    }
    return stretches;
  });
}
