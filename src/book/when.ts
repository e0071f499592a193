import { addDays, DomainError, dateIn, instantAt, timeIn } from '../base/index.js';
import type { Stretch } from '../salon/index.js';
import type { WhenInput } from './dto.js';
import { GRID_MINUTES } from './free-slots.js';

const MINUTE_MS = 60_000;
const SHORTEST_MS = 5 * MINUTE_MS;

/** No appointment takes longer; so a search for what reaches into a stretch need look back no farther. */
export const LONGEST_MS = 720 * MINUTE_MS;

/** How far ahead the book goes. */
export const FARTHEST_DAYS = 731;

/** First instant that may still be booked: the start of the quarter-hour that runs, for whoever stands at the desk. */
export function earliestStart(zone: string, now: number): number {
  const wholeMinute = Math.floor(now / MINUTE_MS) * MINUTE_MS;
  const minutes = Number(timeIn(zone, now).slice(3));
  return wholeMinute - (minutes % GRID_MINUTES) * MINUTE_MS;
}

/**
 * The start that was asked for, or undefined when none was given.
 * Throws BOOK.TIME_TWICE, BOOK.TIME_MISSING, BOOK.NO_SUCH_TIME (the clock skips it), BOOK.SECOND_PASS (the clock shows
 * it twice and the second was meant) or BOOK.NOT_ON_THE_MINUTE.
 */
export function wantedStart(zone: string, when: WhenInput): number | undefined {
  const { date, time, startsAt } = when;
  if (typeof startsAt === 'number') {
    if (date || time) {
      throw DomainError.invalid(
        'BOOK.TIME_TWICE',
        'startsAt',
        'Start: give it, or a date and a time, not both.',
      );
    }
    if (startsAt % MINUTE_MS !== 0) {
      throw DomainError.invalid('BOOK.NOT_ON_THE_MINUTE', 'startsAt', 'Start: give a whole minute.');
    }
    if (instantAt(zone, dateIn(zone, startsAt), timeIn(zone, startsAt)) !== startsAt) {
      throw DomainError.invalid(
        'BOOK.SECOND_PASS',
        'startsAt',
        'Start: the clock shows this time twice that night, and only its first pass can be booked. Choose another.',
      );
    }
    return startsAt;
  }
  if (!date && !time) return undefined;
  if (!date)
    throw DomainError.invalid('BOOK.TIME_MISSING', 'date', 'Date: give the day as well as the time.');
  if (!time)
    throw DomainError.invalid('BOOK.TIME_MISSING', 'time', 'Time: give the time as well as the day.');
  const start = instantAt(zone, date, time);
  if (timeIn(zone, start) !== time || dateIn(zone, start) !== date) {
    throw DomainError.invalid(
      'BOOK.NO_SUCH_TIME',
      'time',
      `Time: the clock goes forward on ${date} and never shows ${time}. Choose an earlier or a later time.`,
    );
  }
  return start;
}

/**
 * From a start to the end that was asked for, or else `minutes` later.
 * Throws BOOK.LENGTH_TWICE, BOOK.ENDS_BEFORE_START or BOOK.LENGTH_INVALID.
 */
export function withEnd(startsAt: number, when: WhenInput, minutes: number): Stretch {
  if (typeof when.endsAt !== 'number') {
    return { startsAt, endsAt: startsAt + (when.minutes ?? minutes) * MINUTE_MS };
  }
  const { endsAt } = when;
  if (typeof when.minutes === 'number') {
    throw DomainError.invalid('BOOK.LENGTH_TWICE', 'endsAt', 'End: give it or the minutes, not both.');
  }
  if (endsAt % MINUTE_MS !== 0) {
    throw DomainError.invalid('BOOK.NOT_ON_THE_MINUTE', 'endsAt', 'End: give a whole minute.');
  }
  if (endsAt <= startsAt) {
    throw DomainError.invalid('BOOK.ENDS_BEFORE_START', 'endsAt', 'End: it must be later than the start.');
  }
  if (endsAt - startsAt < SHORTEST_MS || endsAt - startsAt > LONGEST_MS) {
    throw DomainError.invalid(
      'BOOK.LENGTH_INVALID',
      'endsAt',
      'End: an appointment takes from 5 minutes to 12 hours.',
    );
  }
  return { startsAt, endsAt };
}

/** Throws BOOK.PAST or BOOK.TOO_FAR. */
export function requireBookable(zone: string, startsAt: number, now: number, field: string): void {
  if (startsAt < earliestStart(zone, now)) {
    throw DomainError.invalid('BOOK.PAST', field, 'That time has passed. Choose one from now on.');
  }
  if (dateIn(zone, startsAt) > addDays(dateIn(zone, now), FARTHEST_DAYS)) {
    throw DomainError.invalid('BOOK.TOO_FAR', field, 'That is more than two years ahead. Check the year.');
  }
}
