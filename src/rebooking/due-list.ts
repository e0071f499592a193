import { Injectable } from '@nestjs/common';
import { type EntityManager, In } from 'typeorm';
import { Clock, dateIn, daysBetween } from '../base/index.js';
import { Appointment } from '../book/index.js';
import { CHANNELS, type Channel, Client, Consent } from '../clients/index.js';
import { Visit } from '../cuts/index.js';
import { goneBy } from '../engine/plan/index.js';
import { Salon } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { type Contact, Contacts } from './contacts.js';
import { NotNow, ShapeWindow } from './entities.js';
import { batchOfStored } from './windows.js';

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
  /** Probability, 0 to 1, that the shape has already gone today. */
  readonly goneProbability: number;
  /** Visit, "not now" or message, whichever came last. */
  readonly lastContact: Contact | null;
  /** Her newest answer to invitations by each channel; null where she was never asked. */
  readonly mayInvite: Readonly<Record<Channel, boolean | null>>;
  /** Why she did not book at her last visit, when she was asked. */
  readonly notNow: Pick<NotNow, 'reason' | 'words' | 'askAgainOn' | 'saidAt'> | null;
};

type Row = Omit<DueClient, 'clientName' | 'goneProbability' | 'lastContact' | 'mayInvite' | 'notNow'> & {
  readonly givenName: string;
  readonly familyName: string;
  readonly packed: string;
  readonly cutOn: string;
};

/** Clients whose shape is going, or who said "not now", and who hold no appointment. */
@Injectable()
export class DueList {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly contacts: Contacts,
  ) {}

  /**
   * Everybody of the salon whose window opens by `until` ('YYYY-MM-DD') or who said "not now" since her cut, and who
   * has nothing booked from now on; not those who asked to be left alone until later. The likeliest to have lost the
   * shape first (to the nearest hundredth), then the longest due.
   */
  async until(salonId: string, until: string, limit = 200): Promise<DueClient[]> {
    const { manager } = this.reader;
    const now = this.clock.now();
    const salon = await manager.findOneBy(Salon, { id: salonId });
    if (!salon) return [];
    const today = dateIn(salon.zone, now);
    const said = await this.saidNotNow(manager, salon);
    const open = (await this.unbooked(manager, salonId, now)).filter(({ clientId, earliestOn, cutOn }) => {
      const notNow = said.get(clientId);
      // Said before the newest cut, it was about the shape before.
      if (!notNow || dateIn(salon.zone, notNow.saidAt) < cutOn) {
        said.delete(clientId);
        return earliestOn <= until;
      }
      return notNow.askAgainOn === null || notNow.askAgainOn <= until;
    });
    const gone = goneBy(
      batchOfStored(open),
      open.map(({ cutOn }) => daysBetween(cutOn, today)),
    );
    const urgent = open
      .map((row, i) => ({ row, goneProbability: gone[i] ?? 0 }))
      .sort(
        (a, b) =>
          Math.round(100 * b.goneProbability) - Math.round(100 * a.goneProbability) ||
          (a.row.dueOn < b.row.dueOn ? -1 : a.row.dueOn > b.row.dueOn ? 1 : 0) ||
          (a.row.clientId < b.row.clientId ? -1 : 1),
      )
      .slice(0, limit);
    const ids = urgent.map(({ row }) => row.clientId);
    const answers = await this.answers(manager, ids);
    const visits = await this.lastVisits(manager, ids);
    const others = await this.contacts.newest(manager, ids);
    return urgent.map(({ row, goneProbability }) => {
      const { givenName, familyName, packed: _, cutOn: __, ...client } = row;
      const notNow = said.get(row.clientId);
      return {
        ...client,
        clientName: `${givenName} ${familyName}`,
        goneProbability,
        lastContact: newestOf([
          visits.get(row.clientId),
          others.get(row.clientId),
          notNow && { at: notNow.saidAt, what: 'not now' },
        ]),
        mayInvite: answers(row.clientId),
        notNow: notNow
          ? {
              reason: notNow.reason,
              words: notNow.words,
              askAgainOn: notNow.askAgainOn,
              saidAt: notNow.saidAt,
            }
          : null,
      };
    });
  }

  private async unbooked(manager: EntityManager, salonId: string, now: number): Promise<Row[]> {
    return await manager
      .createQueryBuilder(ShapeWindow, 'w')
      .innerJoin(Client, 'c', 'c.id = w.clientId')
      .where('w.salonId = :salonId', { salonId })
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
      .setParameter('now', now)
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
        'w.packed AS "packed"',
        'w.cutOn AS "cutOn"',
      ])
      .getRawMany<Row>();
  }

  /** The newest "not now" of each client. */
  private async saidNotNow(manager: EntityManager, { id: salonId }: Salon): Promise<Map<string, NotNow>> {
    const all = await manager.find(NotNow, { where: { salonId }, order: { saidAt: 'ASC', id: 'ASC' } });
    return new Map(all.map((one) => [one.clientId, one]));
  }

  private async answers(
    manager: EntityManager,
    clientIds: readonly string[],
  ): Promise<(clientId: string) => DueClient['mayInvite']> {
    const all = await manager.find(Consent, {
      where: { clientId: In([...clientIds]), purpose: 'rebooking' },
      order: { at: 'ASC', id: 'ASC' },
    });
    const newest = new Map(all.map(({ clientId, channel, given }) => [`${clientId} ${channel}`, given]));
    return (clientId) =>
      Object.fromEntries(
        CHANNELS.map((channel) => [channel, newest.get(`${clientId} ${channel}`) ?? null]),
      ) as Record<Channel, boolean | null>;
  }

  private async lastVisits(
    manager: EntityManager,
    clientIds: readonly string[],
  ): Promise<Map<string, Contact>> {
    const rows = await manager
      .createQueryBuilder(Visit, 'v')
      .select('v.clientId', 'clientId')
      .addSelect('MAX(v.closedAt)', 'at')
      .where({ clientId: In([...clientIds]) })
      .groupBy('v.clientId')
      .getRawMany<{ clientId: string; at: number | string }>();
    return new Map(rows.map(({ clientId, at }) => [clientId, { at: Number(at), what: 'visit' }]));
  }
}

function newestOf(contacts: readonly (Contact | undefined)[]): Contact | null {
  return contacts.reduce<Contact | null>(
    (newest, contact) =>
      contact && contact.at > (newest?.at ?? Number.NEGATIVE_INFINITY) ? contact : newest,
    null,
  );
}
