import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import { Client } from '../clients/index.js';
import { Salon, Service, Staff } from '../salon/index.js';

export type Parties = {
  readonly salon: Salon;
  readonly client: Client;
  readonly staff: Staff;
  readonly service: Service;
};

type Ids = { readonly clientId: string; readonly staffId: string; readonly serviceId: string };

/**
 * Whom and what an appointment joins. Throws BOOK.NO_SUCH_CLIENT, BOOK.NO_SUCH_STYLIST and BOOK.NO_SUCH_SERVICE, each
 * also for one of another salon; BOOK.STYLIST_LEFT and BOOK.SERVICE_NOT_OFFERED for those that are no longer there. What is booked already,
 * `keptServiceId`, may have gone off the list since.
 */
export async function requireParties(
  manager: EntityManager,
  ids: Ids,
  keptServiceId?: string,
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
  const service = await manager.findOneBy(Service, { id: ids.serviceId, salonId });
  if (!service) {
    throw DomainError.invalid('BOOK.NO_SUCH_SERVICE', 'serviceId', 'Service: choose one of the list.');
  }
  if (!service.active && service.id !== keptServiceId) {
    const message = `Service: "${service.name}" is no longer offered. Choose another.`;
    throw DomainError.invalid('BOOK.SERVICE_NOT_OFFERED', 'serviceId', message);
  }
  const salon = await manager.findOneByOrFail(Salon, { id: salonId });
  return { salon, client, staff, service };
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
