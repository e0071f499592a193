import { Injectable } from '@nestjs/common';
import { In, MoreThan } from 'typeorm';
import { Appointment, aheadOf } from '../book/index.js';
import { Reader } from '../store/index.js';

/** Who already holds a next appointment, so that a page doesn't ask for another. */
@Injectable()
export class BookedAhead {
  constructor(private readonly reader: Reader) {}

  async among(clientIds: readonly string[], now: number): Promise<Set<string>> {
    if (clientIds.length === 0) return new Set();
    const rows = await this.reader.manager.find(Appointment, {
      select: { id: true, clientId: true },
      where: { clientId: In([...new Set(clientIds)]), startsAt: MoreThan(now), state: 'booked' },
    });
    return new Set(rows.map(({ clientId }) => clientId));
  }

  /** A client's appointments that are booked or running, the next first. */
  async of(clientId: string, now: number): Promise<Appointment[]> {
    return await this.reader.manager.find(Appointment, {
      where: aheadOf(clientId, now),
      order: { startsAt: 'ASC' },
    });
  }
}
