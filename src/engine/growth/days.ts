import { EngineError } from '../errors.js';

const MS_PER_DAY = 86_400_000;
const ISO_DATE = /^(\d{4})-(\d{2})-(\d{2})$/;

/**
 * Whole days from one ISO date to another. Throws ENGINE.OUT_OF_RANGE for what is no ISO date.
 *
 * Calendar dates have no zone, so that counting days in UTC is exact; a calendar library does the same at some
 * twenty times the time, which a whole book of clients would notice.
 */
export function daysBetween(from: string, to: string): number {
  return epochDay(to, 'to') - epochDay(from, 'from');
}

/** The ISO date `days` whole days after `on`. */
export function addDays(on: string, days: number): string {
  return new Date((epochDay(on, 'on') + Math.trunc(days)) * MS_PER_DAY).toISOString().slice(0, 10);
}

/** Days since 1970-01-01 of a date written YYYY-MM-DD that is in the calendar, or ENGINE.OUT_OF_RANGE naming `field`. */
export function epochDay(iso: string, field: string): number {
  const [, year, month, day] = (ISO_DATE.exec(iso) ?? []).map(Number);
  const date = new Date(Date.UTC(year ?? Number.NaN, (month ?? 0) - 1, day));
  // Date.UTC carries over what is too large, and takes years below 100 for the last century.
  if (date.getUTCFullYear() !== year || date.getUTCMonth() + 1 !== month || date.getUTCDate() !== day) {
    throw new EngineError(
      'ENGINE.OUT_OF_RANGE',
      field,
      `${field} must be a calendar date written YYYY-MM-DD.`,
    );
  }
  return date.getTime() / MS_PER_DAY;
}
