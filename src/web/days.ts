import { type ClockChange, dateIn, daysBetween, isDate, timeIn } from '../base/index.js';

/** How days are written on a page: in which language, seen from which day. */
export type Spoken = { readonly locale: string; readonly today: string };

/** Farther than this from today a day is written with its year (ours). */
const YEAR_TOLD_DAYS = 270;

const DAY_MS = 86_400_000;

/** Making a formatter takes much longer than using it. */
const formats = new Map<string, Intl.DateTimeFormat>();

function written(date: string, { locale, today }: Spoken, parts: Intl.DateTimeFormatOptions): string {
  const at = Date.parse(`${date}T00:00:00Z`);
  const far = Math.abs(at - Date.parse(`${today}T00:00:00Z`)) > YEAR_TOLD_DAYS * DAY_MS;
  const key = `${locale} ${Object.keys(parts).join()} ${far}`;
  let format = formats.get(key);
  if (!format) {
    format = new Intl.DateTimeFormat(locale, { ...parts, ...(far && { year: 'numeric' }), timeZone: 'UTC' });
    formats.set(key, format);
  }
  return format.format(at);
}

/** "Thu 14 May", with the year when it is far off. */
export function dayText(date: string, spoken: Spoken): string {
  return written(date, spoken, { weekday: 'short', day: 'numeric', month: 'short' });
}

/** "14 May", where the weekday is of no use. */
export function shortDay(date: string, spoken: Spoken): string {
  return written(date, spoken, { day: 'numeric', month: 'short' });
}

/** "Thu 14 May, 11:00" in the salon's zone. */
export function momentText(instant: number, zone: string, spoken: Spoken): string {
  return `${dayText(dateIn(zone, instant), spoken)}, ${timeIn(zone, instant)}`;
}

/** Lengths are projected, and looked back on, at most this far from today. */
const FARTHEST_DAYS = 730;

/** A day that was asked for in an address; today for none, for what is no date, and for one out of reach. */
export function dayAsked(asked: string | undefined, { today }: Spoken): string {
  return isDate(asked) && Math.abs(daysBetween(today, asked)) <= FARTHEST_DAYS ? asked : today;
}

/** What a change of the clock means for the day, in plain words. */
export function clockChangeWords({ from, to }: ClockChange): string {
  return from < to
    ? `The clock goes forward from ${from} to ${to}; the time in between does not exist.`
    : `The clock goes back from ${from} to ${to}; the time in between comes twice.`;
}
