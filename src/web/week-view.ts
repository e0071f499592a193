import { instantAt, timeIn } from '../base/index.js';
import type { BookDay } from '../book/index.js';
import { placeOf, type Scale, scaleOf } from './day-grid.js';
import { columnView, type DayContext, stretchesOf } from './day-view.js';

const HOUR_MS = 3_600_000;
const LAST_HOUR = 24;
const USUAL = { from: '09:00', hours: 9 } as const;

/**
 * Seven days of one stylist side by side, each from the same hour of the wall clock on. Where the clock changes within
 * the hours shown, that day's rows after the change are an hour off the labels; its entries name their own times.
 */
export function weekView(days: readonly BookDay[], context: DayContext) {
  const open = days.filter((day) => stretchesOf(day).length > 0);
  const own = open.map((day) => scaleOf(stretchesOf(day), day, USUAL));
  const hourOf = (scale: Scale, i: number) => Number(timeIn(open[i]!.zone, scale.from).slice(0, 2));
  const first = own.length === 0 ? 9 : Math.min(...own.map(hourOf));
  const last = own.length === 0 ? 18 : Math.max(...own.map((scale, i) => hourOf(scale, i) + scale.hours));
  const hours = Math.min(last, LAST_HOUR + 1) - first;
  const columns = days.flatMap((day) => {
    const from = instantAt(day.zone, day.date, `${String(first).padStart(2, '0')}:00`);
    const scale = { from, hours };
    const isNow = context.now >= from && context.now < from + hours * HOUR_MS;
    const nowPlace = isNow ? placeOf({ startsAt: context.now, endsAt: context.now }, scale) : null;
    return day.columns.map((column) => ({
      ...columnView(column, day.date, scale, context),
      closed: day.closed,
      isToday: day.date === context.today,
      nowPlace,
    }));
  });
  return {
    columns,
    gone: columns.flatMap(({ gone, date }) => gone.map((entry) => ({ ...entry, date }))),
    rows: hours,
    hours: Array.from({ length: hours }, (_, i) => ({ place: `h-${i}`, label: `${first + i}:00` })),
  };
}
