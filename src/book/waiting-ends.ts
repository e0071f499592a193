import { Injectable, type OnModuleInit } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { dateIn, timeIn } from '../base/index.js';
import { Salon } from '../salon/index.js';
import { BookEffects } from './effects.js';
import type { Appointment } from './entities.js';
import { WaitingEntry, WaitingOffer } from './waiting-entities.js';
import { suits } from './waiting-matches.js';

/** Whoever is booked for what she waits for, at a time that suits her, waits no longer, however it came about. */
@Injectable()
export class WaitingEnds implements OnModuleInit {
  constructor(private readonly effects: BookEffects) {}

  onModuleInit(): void {
    this.effects.register({ booked: endWaiting, moved: endWaiting });
  }
}

async function endWaiting(manager: EntityManager, appointment: Appointment): Promise<void> {
  const { id, clientId, serviceId, salonId, staffId, startsAt, endsAt } = appointment;
  const entries = await manager.findBy(WaitingEntry, { clientId, serviceId, state: 'waiting' });
  if (entries.length === 0) return;
  const { zone } = await manager.findOneByOrFail(Salon, { id: salonId });
  const got = { staffId, date: dateIn(zone, startsAt), time: timeIn(zone, startsAt) };
  for (const entry of entries) {
    if (!suits(entry, got, timeIn(zone, endsAt))) continue;
    await manager.save(Object.assign(entry, { state: 'booked', appointmentId: id }));
    await manager.update(WaitingOffer, { entryId: entry.id, state: 'open' }, { state: 'withdrawn' });
  }
}
