import type { Appointment } from '../book/index.js';
import type { Salon } from '../salon/index.js';
import type { LetterFacts } from './letter.js';
import type { Addressee, Lookups } from './lookups.js';

type Parties = {
  readonly client: Addressee;
  readonly salon: Salon;
  /** What the message is about, where it is about one. */
  readonly appointment: Appointment | null;
};

/** Gathers what every message says, and what one about an appointment does. */
export async function letterFacts(
  lookups: Pick<Lookups, 'staff' | 'service'>,
  { client, salon, appointment }: Parties,
): Promise<LetterFacts> {
  const facts: LetterFacts = {
    clientName: client.knownAs ?? client.givenName,
    salonName: salon.name,
    salonAddress: salon.address,
    salonPhone: salon.phone,
    zone: salon.zone,
    locale: salon.locale,
    language: client.language,
  };
  if (!appointment) return facts;
  const [staff, service] = await Promise.all([
    lookups.staff(appointment.staffId),
    lookups.service(appointment.serviceId),
  ]);
  return {
    ...facts,
    serviceName: service?.name ?? '',
    stylistName: staff?.name ?? '',
    startsAt: appointment.startsAt,
    endsAt: appointment.endsAt,
  };
}
