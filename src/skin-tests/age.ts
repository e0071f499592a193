import { isDate } from '../base/index.js';

/** Regulation (EC) 1223/2009, Annex III, label of oxidative dyes: not intended for persons under 16. */
export const LEAST_AGE_YEARS = 16;

/**
 * First date on which somebody born on `birthday` is 16. Somebody born on 29 February whose 16th year has no
 * such day (2100) is 16 on 1 March, the later of the two readings.
 */
export function sixteenthBirthday(birthday: string): string {
  const year = String(Number(birthday.slice(0, 4)) + LEAST_AGE_YEARS).padStart(4, '0');
  const sameDay = `${year}${birthday.slice(4)}`;
  return isDate(sameDay) ? sameDay : `${year}-03-01`;
}
