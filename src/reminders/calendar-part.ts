import ical, { ICalCalendarMethod, ICalEventStatus } from 'ical-generator';
import type { Appointment } from '../book/index.js';
import type { LetterFacts } from './letter.js';
import type { CalendarPart } from './sender.js';

type Occasion = {
  readonly appointment: Pick<Appointment, 'id' | 'startsAt' | 'endsAt' | 'moves' | 'state'>;
  readonly facts: LetterFacts;
  readonly salonEmail: string;
  /** Host of our own addresses, which makes the UID ours (RFC 7986 section 5.3). */
  readonly domain: string;
  readonly now: number;
};

/**
 * An appointment for the client's own calendar, in UTC. One UID for all its life and a sequence that grows with
 * every move (RFC 5545 section 3.8.7.4), so that a later message changes the entry instead of adding another.
 */
export function calendarPart({ appointment, facts, salonEmail, domain, now }: Occasion): CalendarPart {
  const { id, startsAt, endsAt, moves, state } = appointment;
  const cancelled = state === 'cancelled';
  const method = cancelled ? 'CANCEL' : 'PUBLISH';
  const calendar = ical({
    prodId: { company: 'Halfinch', product: 'Halfinch', language: 'EN' },
    method: cancelled ? ICalCalendarMethod.CANCEL : ICalCalendarMethod.PUBLISH,
  });
  calendar.createEvent({
    id: `${id}@${domain}`,
    sequence: cancelled ? moves + 1 : moves,
    status: cancelled ? ICalEventStatus.CANCELLED : ICalEventStatus.CONFIRMED,
    stamp: new Date(now),
    start: new Date(startsAt),
    end: new Date(endsAt),
    summary: `${facts.serviceName}, ${facts.salonName}`,
    location: facts.salonAddress,
    organizer: { name: facts.salonName, email: salonEmail },
  });
  return { method, content: calendar.toString() };
}
