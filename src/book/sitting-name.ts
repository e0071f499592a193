import { type EntityManager, In } from 'typeorm';
import { Service } from '../salon/index.js';
import { joinedNames } from './combined-service.js';
import type { Appointment } from './entities.js';
import { servicesOf } from './parties.js';

type Sitting = Pick<Appointment, 'serviceId' | 'alsoServiceIds'>;

/** What is done in a sitting, in words; empty for services that are unknown. */
export function namedSitting(sitting: Sitting, services: Iterable<Pick<Service, 'id' | 'name'>>): string {
  const names = new Map([...services].map((service) => [service.id, service]));
  return joinedNames(servicesOf(sitting).flatMap((id) => names.get(id) ?? []));
}

/** `namedSitting` by what the store says. */
export async function sittingName(manager: EntityManager, sitting: Sitting): Promise<string> {
  return namedSitting(sitting, await manager.findBy(Service, { id: In(servicesOf(sitting)) }));
}
