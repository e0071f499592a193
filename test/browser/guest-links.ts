import type { INestApplicationContext } from '@nestjs/common';
import { MoreThan } from 'typeorm';
import { addDays, dateIn } from '../../src/base/index.js';
import { Appointment, ClientLinks, Slots, WaitingList, WaitingOffers } from '../../src/book/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { issueShapeLink, ShapeWindow } from '../../src/rebooking/index.js';
import { Salon } from '../../src/salon/index.js';
import { Reader, UnitOfWork } from '../../src/store/index.js';

const NOTICE_MS = 3 * 86_400_000;

/** Paths of one private link of each kind into the demo's salon. */
export type GuestLinks = { readonly appointment: string; readonly next: string; readonly offer: string };

/** Issues private links as messages do, to pages that a browser test can then open. */
export async function issueGuestLinks(app: INestApplicationContext, now: number): Promise<GuestLinks> {
  const of = <T>(type: new (...args: never[]) => T): T => app.get(type, { strict: false });
  const { manager } = of(Reader);
  const units = of(UnitOfWork);
  const [salon] = await manager.find(Salon);
  const appointment = await manager.findOneOrFail(Appointment, {
    where: { state: 'booked', startsAt: MoreThan(now + NOTICE_MS) },
    order: { startsAt: 'ASC' },
  });
  const booked = manager
    .createQueryBuilder(Appointment, 'a')
    .select('1')
    .where('a.clientId = w.clientId AND a.startsAt > :now')
    .getQuery();
  const window = await manager
    .createQueryBuilder(ShapeWindow, 'w')
    .where(`NOT EXISTS (${booked})`, { now })
    .orderBy('w.dueOn', 'ASC')
    .getOneOrFail();
  const { id: salonId, zone } = salon!;
  const { serviceId } = appointment;
  const fromDate = addDays(dateIn(zone, now), 4);
  const [slot] = await of(Slots).find({ salonId, serviceId, fromDate, toDate: addDays(fromDate, 6) });
  const { staffId, startsAt, endsAt, date } = slot!;
  const entry = await of(WaitingList).add(
    { clientId: window.clientId, serviceId, fromDate: date, toDate: date },
    SYSTEM,
  );
  const freed = { staffId, startsAt, endsAt, entryIds: [entry.id] };
  const [made] = await of(WaitingOffers).offer(salonId, freed, SYSTEM);
  const [own, next] = await units.run(async (writer) => [
    await of(ClientLinks).issue(writer, appointment),
    await issueShapeLink(writer, window, now),
  ]);
  return { appointment: `/a/${own}`, next: `/n/${next}`, offer: `/o/${made!.token}` };
}
