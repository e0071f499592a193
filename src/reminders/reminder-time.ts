import { addDays, dateIn, instantAt, timeIn } from '../base/index.js';

const HOUR_MS = 3_600_000;
const QUIET_FROM = '20:00';
const QUIET_UNTIL = '09:00';
const EVENING_BEFORE = '19:00';
/** A reminder that comes later than this before the start helps nobody. */
const LEAST_NOTICE_MS = 2 * HOUR_MS;

export type ReminderCase = {
  readonly startsAt: number;
  /** Hours of elapsed time before the start; 0 means that the salon sends no reminders. */
  readonly hoursBefore: number;
  /** IANA zone of the salon. */
  readonly zone: string;
};

/**
 * When an appointment's reminder is due, in epoch milliseconds and never before `now`; undefined when none is
 * owed. Due `hoursBefore` hours of elapsed time before the start (so its wall-clock time shifts when the clocks
 * change in between), or at once when booked later than that. From 20:00 to 09:00 in the salon's zone nobody
 * is disturbed: the reminder goes at 19:00 that evening or, that being past, at 09:00 in the morning if two
 * hours are left before the start. None is owed for an appointment less than two hours away, nor when the
 * morning would be too late: the confirmation, sent at once, has just told the same.
 */
export function reminderTime({ startsAt, hoursBefore, zone }: ReminderCase, now: number): number | undefined {
  if (hoursBefore <= 0 || startsAt - now < LEAST_NOTICE_MS) return undefined;
  const wanted = Math.max(now, startsAt - hoursBefore * HOUR_MS);
  const time = timeIn(zone, wanted);
  if (time >= QUIET_UNTIL && time < QUIET_FROM) return wanted;

  const date = dateIn(zone, wanted);
  const eveningOn = time < QUIET_UNTIL ? addDays(date, -1) : date;
  const evening = instantAt(zone, eveningOn, EVENING_BEFORE);
  if (evening >= now) return evening;
  const morning = instantAt(zone, addDays(eveningOn, 1), QUIET_UNTIL);
  return startsAt - morning >= LEAST_NOTICE_MS ? morning : undefined;
}
