import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import { Client } from '../clients/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import { combinedService, type Offered } from './combined-service.js';

export type Parties = {
  readonly salon: Salon;
  readonly client: Client;
  readonly staff: Staff;
  /** All services of the sitting as one. */
  readonly service: Offered;
};

type Ids = {
  readonly clientId: string;
  readonly staffId: string;
  readonly serviceId: string;
  readonly alsoServiceIds?: readonly string[] | null | undefined;
};

/**
 * Whom and what an appointment joins. Throws BOOK.NO_SUCH_CLIENT, BOOK.NO_SUCH_STYLIST and BOOK.NO_SUCH_SERVICE, each
 * also for one of another salon; BOOK.STYLIST_LEFT and BOOK.SERVICE_NOT_OFFERED for those that are no longer there; BOOK.COLOUR_FIRST. What is booked already,
 * `keptServiceIds`, may have gone off the list since.
 */
export async function requireParties(
  manager: EntityManager,
  ids: Ids,
  keptServiceIds: readonly string[] = [],
): Promise<Parties> {
  const client = await manager.findOneBy(Client, { id: ids.clientId });
  if (!client)
    throw DomainError.invalid('BOOK.NO_SUCH_CLIENT', 'clientId', 'Client: choose one of the list.');
  const { salonId } = client;
  const staff = await manager.findOneBy(Staff, { id: ids.staffId, salonId });
  if (!staff?.cutsHair) {
    throw DomainError.invalid('BOOK.NO_SUCH_STYLIST', 'staffId', 'Stylist: choose one of the list.');
  }
  if (!staff.active) {
    throw DomainError.invalid('BOOK.STYLIST_LEFT', 'staffId', `Stylist: ${staff.name} no longer works here.`);
  }
  const services: Service[] = [];
  for (const id of servicesOf(ids)) {
    const field = id === ids.serviceId ? 'serviceId' : 'alsoServiceIds';
    const service = await manager.findOneBy(Service, { id, salonId });
    if (!service) {
      throw DomainError.invalid('BOOK.NO_SUCH_SERVICE', field, 'Service: choose one of the list.');
    }
    if (!service.active && !keptServiceIds.includes(id)) {
      const message = `Service: "${service.name}" is no longer offered. Choose another.`;
      throw DomainError.invalid('BOOK.SERVICE_NOT_OFFERED', field, message);
    }
    // The skin test is asked for by the appointment's own service, here and wherever else one is looked for.
    if (service.kind === 'colour' && services.length > 0) {
      const message = `More services: make "${service.name}" the first, because it is colour.`;
      throw DomainError.invalid('BOOK.COLOUR_FIRST', field, message);
    }
    services.push(service);
  }
  const salon = await manager.findOneByOrFail(Salon, { id: salonId });
  return { salon, client, staff, service: combinedService(services) };
}

/** Ids of all that is done in a sitting, in order. */
export function servicesOf({ serviceId, alsoServiceIds }: Omit<Ids, 'clientId' | 'staffId'>): string[] {
  return [serviceId, ...(alsoServiceIds ?? [])];
}

/** Throws BOOK.SKILL_MISSING unless the stylist can do what the service asks for. */
export function requireSkills({ staff, service }: Pick<Parties, 'staff' | 'service'>): void {
  const missing = missingSkills(staff, service);
  if (missing.length === 0) return;
  const message = `Stylist: ${staff.name} does not do ${missing.join(' or ')}, which "${service.name}" needs. Choose another.`;
  throw DomainError.invalid('BOOK.SKILL_MISSING', 'staffId', message);
}

/** Skills the service needs that the stylist does not have. */
export function missingSkills(staff: Pick<Staff, 'skills'>, service: Pick<Service, 'skills'>): string[] {
  return (service.skills ?? []).filter((skill) => !staff.skills?.includes(skill));
}
