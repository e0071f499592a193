import { DomainError, dateIn, dateInWords, instantAt, timeIn } from '../base/index.js';

/** The instant that was given, `now` when none was. Throws SKIN_TEST.MOMENT naming `at`, `date` or `time`. */
export function momentOf(
  given: { readonly at?: number | null; readonly date?: string | null; readonly time?: string | null },
  zone: string,
  now: number,
): number {
  const { at, date, time } = given;
  const wrong = (field: string, message: string) => DomainError.invalid('SKIN_TEST.MOMENT', field, message);
  if (typeof at === 'number' && (date || time))
    throw wrong('at', 'Moment: give either the instant or date and time.');
  if (date && !time) throw wrong('time', 'Time: give it along with the date.');
  if (time && !date) throw wrong('date', 'Date: give it along with the time.');
  const instant = at ?? (date && time ? instantAt(zone, date, time) : now);
  if (instant > now) {
    const here = `${dateInWords(dateIn(zone, now))}, ${timeIn(zone, now)}`;
    throw wrong(
      date ? 'date' : 'at',
      `Moment: this is still to come; it is now ${here}. Check date and time.`,
    );
  }
  return instant;
}
