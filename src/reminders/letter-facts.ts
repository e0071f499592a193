import type { EntityManager } from 'typeorm';
import type { Appointment } from '../book/index.js';
import { Client } from '../clients/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import type { LetterFacts } from './letter.js';

export type Letter = {
  readonly facts: LetterFacts;
  readonly from: { readonly name: string; readonly address: string };
};

/** Gathers what a message about an appointment says, as the records stand now; only these columns are read. */
export async function letterFacts(manager: EntityManager, appointment: Appointment): Promise<Letter> {
  const { clientId, salonId, staffId, serviceId, startsAt, endsAt } = appointment;
  const client = await manager.findOneOrFail(Client, {
    select: { id: true, givenName: true, knownAs: true },
    where: { id: clientId },
  });
  const salon = await manager.findOneByOrFail(Salon, { id: salonId });
  const staff = await manager.findOneByOrFail(Staff, { id: staffId });
  const service = await manager.findOneByOrFail(Service, { id: serviceId });
  return {
    from: { name: salon.name, address: salon.email },
    facts: {
      clientName: client.knownAs ?? client.givenName,
      salonName: salon.name,
      salonAddress: salon.address,
      salonPhone: salon.phone,
      serviceName: service.name,
      stylistName: staff.name,
      startsAt,
      endsAt,
      zone: salon.zone,
      locale: salon.locale,
    },
  };
}
