import ical, { ICalCalendarMethod, ICalEventStatus } from 'ical-generator';
import type { Appointment } from './entities.js';

/** How often a calendar that follows a feed should ask again, in seconds. */
const ASK_AGAIN_S = 900;

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

const PRODUCT = { company: 'Halfinch', product: 'Halfinch', language: 'EN' };

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
  const calendar = ical({ prodId: PRODUCT, method: ICalCalendarMethod[method] });
  calendar.createEvent(eventOf(entry, made));
  return { method, content: calendar.toString() };
}

/** A stylist's appointments as a calendar to follow. */
export function feedFile(name: string, entries: readonly CalendarEntry[], made: Made): string {
  const calendar = ical({ prodId: PRODUCT, name, ttl: ASK_AGAIN_S, method: ICalCalendarMethod.PUBLISH });
  for (const entry of entries) calendar.createEvent(eventOf(entry, made));
  return calendar.toString();
}

function eventOf({ appointment, summary, description, location, url, organizer }: CalendarEntry, made: Made) {
  const { id, startsAt, endsAt, moves, state } = appointment;
  const cancelled = state === 'cancelled';
  return {
    id: `${id}@${made.domain}`,
    // A cancellation is one more change; nothing follows it.
    sequence: cancelled ? moves + 1 : moves,
    status: cancelled ? ICalEventStatus.CANCELLED : ICalEventStatus.CONFIRMED,
    stamp: new Date(made.now),
    start: new Date(startsAt),
    end: new Date(endsAt),
    summary: oneLine(summary),
    location,
    organizer: { name: oneLine(organizer.name), email: organizer.email },
    ...(description !== undefined && { description }),
    ...(url !== undefined && { url }),
  };
}

/** Parameter values hold no line ends or control characters whatever escapes them (RFC 5545 section 3.2). */
function oneLine(text: string): string {
  return text.replace(/[\p{Cc}"]+/gu, ' ').trim();
}
