import { type Appointment, appointmentFile } from '../book/index.js';
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

/** An appointment for the client's own calendar, under the same UID and sequence as in every other file of it. */
export function calendarPart({ appointment, facts, salonEmail, domain, now }: Occasion): CalendarPart {
  return appointmentFile(
    {
      appointment,
      summary: `${facts.serviceName}, ${facts.salonName}`,
      location: facts.salonAddress,
      organizer: { name: facts.salonName, email: salonEmail },
    },
    { domain, now },
  );
}
