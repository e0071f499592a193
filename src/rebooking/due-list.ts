import { Injectable } from '@nestjs/common';
import { Clock } from '../base/index.js';
import { Appointment } from '../book/index.js';
import { Client } from '../clients/index.js';
import { Reader } from '../store/index.js';
import { ShapeWindow } from './entities.js';

export type DueClient = {
  readonly clientId: string;
  readonly clientName: string;
  readonly phone: string | null;
  readonly email: string | null;
  readonly preferredStaffId: string | null;
  readonly earliestOn: string;
  readonly dueOn: string;
  readonly latestOn: string;
  readonly reason: string;
};

/** Clients whose shape is going and who hold no appointment. */
@Injectable()
export class DueList {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
  ) {}

  /**
   * Everybody of the salon whose window opens by `until` ('YYYY-MM-DD') and who has nothing booked from now on,
   * the longest overdue first.
   */
  async until(salonId: string, until: string, limit = 200): Promise<DueClient[]> {
    const rows = await this.reader.manager
      .createQueryBuilder(ShapeWindow, 'w')
      .innerJoin(Client, 'c', 'c.id = w.clientId')
      .where('w.salonId = :salonId AND w.earliestOn <= :until', { salonId, until })
      .andWhere((query) => {
        const ahead = query
          .subQuery()
          .select('1')
          .from(Appointment, 'a')
          .where('a.clientId = w.clientId AND a.startsAt >= :now')
          .andWhere("a.state IN ('booked', 'arrived')")
          .getQuery();
        return `NOT EXISTS ${ahead}`;
      })
      .setParameter('now', this.clock.now())
      .select([
        'w.clientId AS "clientId"',
        'c.givenName AS "givenName"',
        'c.familyName AS "familyName"',
        'c.phone AS "phone"',
        'c.email AS "email"',
        'c.preferredStaffId AS "preferredStaffId"',
        'w.earliestOn AS "earliestOn"',
        'w.dueOn AS "dueOn"',
        'w.latestOn AS "latestOn"',
        'w.reason AS "reason"',
      ])
      .orderBy('w.dueOn', 'ASC')
      .addOrderBy('w.clientId', 'ASC')
      .limit(limit)
      .getRawMany<Omit<DueClient, 'clientName'> & { givenName: string; familyName: string }>();
    return rows.map(({ givenName, familyName, ...row }) => ({
      ...row,
      clientName: `${givenName} ${familyName}`,
    }));
  }
}
