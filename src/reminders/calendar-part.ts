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
  /** The client's private link, or nothing. */
  readonly linkUrl: string;
};

/** An appointment for the client's own calendar, under the same UID and sequence as in every other file of it. */
export function calendarPart({
  appointment,
  facts,
  salonEmail,
  domain,
  now,
  linkUrl,
}: Occasion): CalendarPart {
  return appointmentFile(
    {
      appointment,
      summary: `${facts.serviceName}, ${facts.salonName}`,
      location: facts.salonAddress,
      ...(linkUrl !== '' && { url: linkUrl }),
      organizer: { name: facts.salonName, email: salonEmail },
    },
    { domain, now },
  );
}
