import { type Appointment, namedSitting, servicesOf } from '../book/index.js';
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
  const [staff, ...services] = await Promise.all([
    lookups.staff(appointment.staffId),
    ...servicesOf(appointment).map((id) => lookups.service(id)),
  ]);
  return {
    ...facts,
    serviceName: namedSitting(
      appointment,
      services.flatMap((service) => service ?? []),
    ),
    stylistName: staff?.name ?? '',
    startsAt: appointment.startsAt,
    endsAt: appointment.endsAt,
  };
}
