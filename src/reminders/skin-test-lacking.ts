import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import type { Appointment } from '../book/index.js';
import { Service } from '../salon/index.js';
import { ColourGate } from '../skin-tests/index.js';

/** Refusals that a new test puts right. After a reaction nobody is invited to another one by a message. */
const LACKING = ['SKIN_TEST.NO_TEST', 'SKIN_TEST.LAPSED', 'SKIN_TEST.LAPSES_BEFORE'];

/** Whether nothing but a new skin test stands between a booked colour and its day, by the gate's own rule. */
export async function skinTestLacking(
  manager: EntityManager,
  {
    clientId,
    salonId,
    serviceId,
    startsAt,
  }: Pick<Appointment, 'clientId' | 'salonId' | 'serviceId' | 'startsAt'>,
  now: number,
): Promise<boolean> {
  const service = await manager.findOneByOrFail(Service, { id: serviceId });
  if (service.kind !== 'colour') return false;
  try {
    await new ColourGate().check(manager, { clientId, salonId, at: startsAt, now });
    return false;
  } catch (error) {
    if (error instanceof DomainError) return LACKING.includes(error.code);
    throw error;
  }
}
