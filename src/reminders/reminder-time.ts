import { addDays, dateIn, instantAt, timeIn } from '../base/index.js';
import { isQuiet } from './quiet-hours.js';
import type { QuietHours } from './rules.js';

const HOUR_MS = 3_600_000;
const USUAL_QUIET: QuietHours = { quietFrom: '20:00', quietUntil: '09:00' };
/** A reminder of the night goes this long before the quiet begins, so that it is read before. */
const BEFORE_QUIET_MS = HOUR_MS;
/** A reminder that comes later than this before the start helps nobody. */
const LEAST_NOTICE_MS = 2 * HOUR_MS;

export type ReminderCase = {
  readonly startsAt: number;
  /** Hours of elapsed time before the start; 0 means that the salon sends no reminders. */
  readonly hoursBefore: number;
  /** IANA zone of the salon. */
  readonly zone: string;
  /** The salon's; 20:00 to 09:00 unless it says otherwise. */
  readonly quiet?: QuietHours;
};

/**
 * When an appointment's reminder is due, in epoch milliseconds and never before `now`; undefined when none is
 * owed. Due `hoursBefore` hours of elapsed time before the start (so its wall-clock time shifts when the clocks
 * change in between), or at once when booked later than that. In the salon's quiet hours nobody is disturbed:
 * the reminder goes an hour before they begin or, that being past, when they end, if two hours are left before
 * the start. None is owed for an appointment less than two hours away, nor when the morning would be too late:
 * the confirmation, sent at once, has just told the same.
 */
export function reminderTime(
  { startsAt, hoursBefore, zone, quiet = USUAL_QUIET }: ReminderCase,
  now: number,
): number | undefined {
  if (hoursBefore <= 0 || startsAt - now < LEAST_NOTICE_MS) return undefined;
  const wanted = Math.max(now, startsAt - hoursBefore * HOUR_MS);
  const time = timeIn(zone, wanted);
  if (!isQuiet(quiet, time)) return wanted;

  const date = dateIn(zone, wanted);
  const began = time < quiet.quietFrom ? addDays(date, -1) : date;
  const evening = instantAt(zone, began, quiet.quietFrom) - BEFORE_QUIET_MS;
  if (evening >= now) return evening;
  const ends = quiet.quietUntil > quiet.quietFrom ? began : addDays(began, 1);
  const morning = instantAt(zone, ends, quiet.quietUntil);
  return startsAt - morning >= LEAST_NOTICE_MS ? morning : undefined;
}
