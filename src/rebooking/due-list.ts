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
  /** Name to call her by, where it is another. */
  readonly knownAs: string | null;
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

export type DuePageAsked = {
  /** Windows that open by then, 'YYYY-MM-DD'. */
  readonly until: string;
  readonly staffId?: string | undefined;
  /** Those whose window closed on `since` or before: them only, or all but them. Both together when left out. */
  readonly gone?: { readonly since: string; readonly only: boolean };
  readonly skip: number;
  readonly take: number;
};

export type DuePage = {
  readonly clients: DueClient[];
  /** How many there are on all pages. */
  readonly total: number;
  /** How many `gone` left out. */
  readonly setAside: number;
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
    return (await this.page(salonId, { until, skip: 0, take: limit })).clients;
  }

  /** A page of `until`, of one stylist's clients or all. */
  async page(salonId: string, { until, staffId, gone, skip, take }: DuePageAsked): Promise<DuePage> {
    const { manager } = this.reader;
    const now = this.clock.now();
    const salon = await manager.findOneBy(Salon, { id: salonId });
    if (!salon) return { clients: [], total: 0, setAside: 0 };
    const today = dateIn(salon.zone, now);
    const said = await this.saidNotNow(manager, salon);
    const unbooked = await this.unbooked(manager, salonId, now, staffId);
    const open = unbooked.filter(({ clientId, earliestOn, cutOn }) => {
      const notNow = said.get(clientId);
      // Said before the newest cut, it was about the shape before.
      if (!notNow || dateIn(salon.zone, notNow.saidAt) < cutOn) {
        said.delete(clientId);
        return earliestOn <= until;
      }
      return notNow.askAgainOn === null || notNow.askAgainOn <= until;
    });
    const isMeant = ({ latestOn }: Row) => !gone || latestOn > gone.since !== gone.only;
    const meant = open.filter(isMeant);
    const chances = goneBy(
      batchOfStored(meant),
      meant.map(({ cutOn }) => daysBetween(cutOn, today)),
    );
    const urgent = meant
      .map((row, i) => ({ row, goneProbability: chances[i] ?? 0 }))
      .sort(
        (a, b) =>
          Math.round(100 * b.goneProbability) - Math.round(100 * a.goneProbability) ||
          (a.row.dueOn < b.row.dueOn ? -1 : a.row.dueOn > b.row.dueOn ? 1 : 0) ||
          (a.row.clientId < b.row.clientId ? -1 : 1),
      );
    // Of those long gone the ones seen last come first: they are the likeliest to come back.
    if (gone?.only) urgent.reverse();
    return {
      clients: await this.described(manager, urgent.slice(skip, skip + take), said),
      total: meant.length,
      setAside: open.length - meant.length,
    };
  }

  private async described(
    manager: EntityManager,
    urgent: readonly { readonly row: Row; readonly goneProbability: number }[],
    said: ReadonlyMap<string, NotNow>,
  ): Promise<DueClient[]> {
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

  /** With `staffId` the clients who are thought of with her, as in `usualStaffId`. */
  private async unbooked(
    manager: EntityManager,
    salonId: string,
    now: number,
    staffId: string | undefined,
  ): Promise<Row[]> {
    const all = manager
      .createQueryBuilder(ShapeWindow, 'w')
      .innerJoin(Client, 'c', 'c.id = w.clientId AND c.salonId = :salonId')
      .where('w.salonId = :salonId', { salonId });
    if (staffId) {
      all.andWhere((query) => {
        const last = query
          .subQuery()
          .select('v.staffId')
          .from(Visit, 'v')
          .where('v.clientId = w.clientId')
          .orderBy('v.visitOn', 'DESC')
          .addOrderBy('v.id', 'DESC')
          .limit(1)
          .getQuery();
        return `COALESCE(c.preferredStaffId, ${last}) = :staffId`;
      });
    }
    return await all
      .andWhere((query) => {
        const ahead = query
          .subQuery()
          .select('1')
          .from(Appointment, 'a')
          .where('a.clientId = w.clientId AND a.salonId = :salonId AND a.startsAt >= :now')
          .andWhere("a.state IN ('booked', 'arrived')")
          .getQuery();
        return `NOT EXISTS ${ahead}`;
      })
      .setParameters({ now, staffId })
      .select([
        'w.clientId AS "clientId"',
        'c.givenName AS "givenName"',
        'c.familyName AS "familyName"',
        'c.knownAs AS "knownAs"',
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
