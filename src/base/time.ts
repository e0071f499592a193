import { Temporal } from 'temporal-polyfill';

/** 'YYYY-MM-DD' of an instant in a zone. */
export function dateIn(zone: string, instant: number): string {
  return Temporal.Instant.fromEpochMilliseconds(instant).toZonedDateTimeISO(zone).toPlainDate().toString();
}

/** 'HH:MM' of an instant in a zone. */
export function timeIn(zone: string, instant: number): string {
  return Temporal.Instant.fromEpochMilliseconds(instant)
    .toZonedDateTimeISO(zone)
    .toPlainTime()
    .toString({ smallestUnit: 'minute' });
}

/**
 * The instant of a wall-clock time. In the hour that a DST change skips it moves forward by the gap, and in
 * the doubled hour it takes the first of the two (RFC 5545 section 3.3.5, and Temporal's 'compatible').
 */
export function instantAt(zone: string, date: string, time: string): number {
  return Temporal.PlainDate.from(date).toZonedDateTime({
    timeZone: zone,
    plainTime: Temporal.PlainTime.from(time),
  }).epochMilliseconds;
}

/** First and one-past-last instant of a calendar day in a zone; 23 or 25 hours apart on DST days. */
export function dayBounds(zone: string, date: string): { startsAt: number; endsAt: number } {
  const day = Temporal.PlainDate.from(date);
  return {
    startsAt: day.toZonedDateTime(zone).epochMilliseconds,
    endsAt: day.add({ days: 1 }).toZonedDateTime(zone).epochMilliseconds,
  };
}

/** A change of the clock: at which instant, and what it shows just before and from then on, as 'HH:MM'. */
export type ClockChange = { readonly at: number; readonly from: string; readonly to: string };

/** The change of the clock on a calendar day in a zone, or undefined: nearly every day has none. */
export function clockChangeOn(zone: string, date: string): ClockChange | undefined {
  const { startsAt, endsAt } = dayBounds(zone, date);
  const before = Temporal.Instant.fromEpochMilliseconds(startsAt - 1).toZonedDateTimeISO(zone);
  const change = before.getTimeZoneTransition('next');
  if (!change || change.epochMilliseconds >= endsAt) return undefined;
  const at = change.epochMilliseconds;
  const last = Temporal.Instant.fromEpochMilliseconds(at - 60_000).toZonedDateTimeISO(zone);
  const from = last.toPlainTime().add({ minutes: 1 }).toString({ smallestUnit: 'minute' });
  return { at, from, to: timeIn(zone, at) };
}

export function addDays(date: string, days: number): string {
  return Temporal.PlainDate.from(date).add({ days }).toString();
}

/** Whole days from one calendar date to another; negative when `to` is earlier. */
export function daysBetween(from: string, to: string): number {
  return Temporal.PlainDate.from(from).until(Temporal.PlainDate.from(to), { largestUnit: 'days' }).days;
}

/** ISO weekday: 1 Monday to 7 Sunday. */
export function weekdayOf(date: string): number {
  return Temporal.PlainDate.from(date).dayOfWeek;
}

const DAYS_IN_MONTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

/** Whether `text` is a real calendar date written 'YYYY-MM-DD' (ISO 8601: the Gregorian calendar, from the year 0 on). */
export function isDate(text: unknown): text is string {
  if (typeof text !== 'string' || !/^\d{4}-\d{2}-\d{2}$/.test(text)) return false;
  const [year, month, day] = [Number(text.slice(0, 4)), Number(text.slice(5, 7)), Number(text.slice(8))];
  const isLeap = year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  const days = month === 2 && isLeap ? 29 : (DAYS_IN_MONTH[month - 1] ?? 0);
  return day >= 1 && day <= days;
}

/** Whether `text` is a wall-clock time written 'HH:MM'. */
export function isTime(text: unknown): text is string {
  return typeof text === 'string' && /^([01]\d|2[0-3]):[0-5]\d$/.test(text);
}

/** Whether the time-zone data in use knows this IANA name. */
export function isZoneName(text: unknown): text is string {
  if (typeof text !== 'string' || !/^[A-Za-z]+(\/[A-Za-z0-9_+-]+)+$|^UTC$/.test(text)) return false;
  try {
    Temporal.Instant.fromEpochMilliseconds(0).toZonedDateTimeISO(text);
    return true;
  } catch {
    return false;
  }
}

/** Making a formatter takes much longer than using it. */
const formats = new Map<string, Intl.DateTimeFormat>();

/** "Tue 9 June 2026" in the given language. */
export function dateInWords(date: string, locale = 'en-GB'): string {
  let format = formats.get(locale);
  if (!format) {
    const parts = { weekday: 'short', day: 'numeric', month: 'long', year: 'numeric' } as const;
    format = new Intl.DateTimeFormat(locale, { ...parts, timeZone: 'UTC' });
    formats.set(locale, format);
  }
  return format.format(Date.parse(`${date}T00:00:00Z`));
}
