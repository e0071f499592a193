import { Injectable } from '@nestjs/common';
import { Between } from 'typeorm';
import { addDays, Clock, dateIn } from '../base/index.js';
import { localDays, Salons, workingTime } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { Appointment } from './entities.js';
import { layOut } from './layout.js';
import { worksThrough } from './require-working.js';

/** How far ahead is looked: as far as clients are usually booked. */
const AHEAD_DAYS = 90;

/** Appointments that a changed rota or a closure left outside working hours: to be moved, or meant. */
@Injectable()
export class Strays {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly salons: Salons,
  ) {}

  /** Of the next 90 days, of one stylist or of all, by start. Throws SALON.NOT_FOUND. */
  async ahead(salonId: string, staffId?: string): Promise<Appointment[]> {
    const { manager } = this.reader;
    const { zone } = await this.salons.get(salonId);
    const now = this.clock.now();
    const today = dateIn(zone, now);
    const days = localDays(zone, today, addDays(today, AHEAD_DAYS));
    const booked = await manager.find(Appointment, {
      where: {
        salonId,
        ...(staffId && { staffId }),
        state: 'booked',
        startsAt: Between(now, days.at(-1)!.endsAt - 1),
      },
      order: { startsAt: 'ASC', id: 'ASC' },
    });
    const staffIds = [...new Set(booked.map((appointment) => appointment.staffId))];
    if (staffIds.length === 0) return [];
    const work = await workingTime(manager, salonId, staffIds, days);
    return booked.filter(
      (appointment) =>
        !worksThrough(
          work.get(appointment.staffId)?.stretches ?? [],
          layOut(appointment, appointment).active,
        ),
    );
  }
}
