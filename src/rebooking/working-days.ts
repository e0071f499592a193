import type { EntityManager } from 'typeorm';
import type { Client } from '../clients/index.js';
import { Visit } from '../cuts/index.js';
import { localDays, type Salon, Staff, workingTime } from '../salon/index.js';

/** The stylist a client is thought of with: the one she prefers, else the one of her last visit. */
export async function usualStaffId(manager: EntityManager, client: Client): Promise<string | undefined> {
  if (client.preferredStaffId) return client.preferredStaffId;
  const [last] = await manager.find(Visit, {
    where: { clientId: client.id },
    order: { visitOn: 'DESC', id: 'DESC' },
    take: 1,
  });
  return last?.staffId;
}

/** The dates from `from` to `to` on which this stylist works; on which anybody who cuts does, when none is named. */
export async function workingDates(
  manager: EntityManager,
  salon: Salon,
  staffId: string | undefined,
  from: string,
  to: string,
): Promise<ReadonlySet<string>> {
  const staffIds = staffId
    ? [staffId]
    : (await manager.findBy(Staff, { salonId: salon.id, active: true, cutsHair: true })).map(({ id }) => id);
  const times = await workingTime(manager, salon.id, staffIds, localDays(salon.zone, from, to));
  return new Set([...times.values()].flatMap(({ stretches }) => stretches.map(({ date }) => date)));
}
