import { Temporal } from 'temporal-polyfill';

import { EngineError } from '../errors.js';

/** Whole days from one ISO date to another. Throws ENGINE.OUT_OF_RANGE for what is no ISO date. */
export function daysBetween(from: string, to: string): number {
  return plainDate(from, 'from').until(plainDate(to, 'to'), { largestUnit: 'day' }).days;
}

/** The ISO date `days` whole days after `on`. */
export function addDays(on: string, days: number): string {
  return plainDate(on, 'on').add({ days }).toString();
}

/** `iso` as a calendar date, or ENGINE.OUT_OF_RANGE naming `field`. */
export function plainDate(iso: string, field: string): Temporal.PlainDate {
  try {
    return Temporal.PlainDate.from(iso, { overflow: 'reject' });
  } catch {
    throw new EngineError(
      'ENGINE.OUT_OF_RANGE',
      field,
      `${field} must be a calendar date written YYYY-MM-DD.`,
    );
  }
}
