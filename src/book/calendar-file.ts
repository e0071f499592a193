import ICAL from 'ical.js';
import type { Appointment } from './entities.js';

/** How often a calendar that follows a feed should ask again. */
const ASK_AGAIN = 'PT15M';

// The library does not count the blank that a continued line begins with (RFC 5545 section 3.1: 75 octets).
ICAL.foldLength = 74;

export type CalendarEntry = {
  readonly appointment: Pick<Appointment, 'id' | 'startsAt' | 'endsAt' | 'moves' | 'state'>;
  readonly summary: string;
  readonly description?: string;
  readonly location: string;
  /** Where more about it is to be found (RFC 5545 section 3.8.4.6). */
  readonly url?: string;
  readonly organizer: { readonly name: string; readonly email: string };
};

type Made = {
  /** Host of our own addresses, which makes the UIDs ours (RFC 7986 section 5.3). */
  readonly domain: string;
  readonly now: number;
};

/**
 * One appointment as an iCalendar file in UTC, to be opened or sent. UID and SEQUENCE make a later file change the entry
 * that an earlier one made, and one of a cancellation take it away (RFC 5545 sections 3.8.4.7 and 3.8.7.4; RFC 5546
 * sections 3.2.1 and 3.2.5: the salon is the organizer and asks for no answer).
 */
export function appointmentFile(
  entry: CalendarEntry,
  made: Made,
): { method: 'PUBLISH' | 'CANCEL'; content: string } {
  const method = entry.appointment.state === 'cancelled' ? 'CANCEL' : 'PUBLISH';
  return { method, content: calendarOf(method, [], [entry], made) };
}

/** A stylist's appointments as a calendar to follow. */
export function feedFile(name: string, entries: readonly CalendarEntry[], made: Made): string {
  const named = oneLine(name);
  // RFC 7986 sections 5.1 and 5.7, and what calendars knew before it.
  const about: Property[] = [
    ['name', {}, 'text', named],
    ['x-wr-calname', {}, 'unknown', named],
    ['refresh-interval', { value: 'DURATION' }, 'duration', ASK_AGAIN],
    ['x-published-ttl', {}, 'unknown', ASK_AGAIN],
  ];
  return calendarOf('PUBLISH', about, entries, made);
}

/** As jCal (RFC 7265 section 3.4) has it: name, parameters, type, value. */
type Property = [string, Record<string, string>, string, string | number];

function calendarOf(
  method: 'PUBLISH' | 'CANCEL',
  about: readonly Property[],
  entries: readonly CalendarEntry[],
  made: Made,
): string {
  const properties: Property[] = [
    ['version', {}, 'text', '2.0'],
    ['prodid', {}, 'text', '-//Halfinch//Halfinch//EN'],
    ['method', {}, 'text', method],
    ...about,
  ];
  const events = entries.map((entry) => ['vevent', propertiesOf(entry, made), []]);
  return ICAL.stringify(['vcalendar', properties, events]);
}

function propertiesOf(
  { appointment, summary, description, location, url, organizer }: CalendarEntry,
  made: Made,
): Property[] {
  const { id, startsAt, endsAt, moves, state } = appointment;
  const isCancelled = state === 'cancelled';
  return [
    ['uid', {}, 'text', `${id}@${made.domain}`],
    // A cancellation is one more change; nothing follows it.
    ['sequence', {}, 'integer', isCancelled ? moves + 1 : moves],
    ['dtstamp', {}, 'date-time', utc(made.now)],
    ['dtstart', {}, 'date-time', utc(startsAt)],
    ['dtend', {}, 'date-time', utc(endsAt)],
    ['summary', {}, 'text', oneLine(summary)],
    ['location', {}, 'text', plain(location)],
    ...(description === undefined
      ? []
      : [['description', {}, 'text', plain(description)] satisfies Property]),
    ['organizer', { cn: oneLine(organizer.name) }, 'cal-address', `mailto:${organizer.email}`],
    ...(url === undefined ? [] : [['url', {}, 'uri', url] satisfies Property]),
    ['status', {}, 'text', isCancelled ? 'CANCELLED' : 'CONFIRMED'],
  ];
}

/** To the second, as a calendar has it. */
const utc = (instant: number) => `${new Date(instant).toISOString().slice(0, 19)}Z`;

/** Without the control characters that no value may hold (RFC 5545 section 3.3.11). */
const plain = (text: string) => text.replace(/\r\n?/g, '\n').replace(/(?![\t\n])\p{Cc}/gu, '');

/** A single line without quotes, as a parameter's value must be (section 3.2). */
const oneLine = (text: string) => text.replace(/[\p{Cc}"]+/gu, ' ').trim();
