import { Injectable } from '@nestjs/common';
import { type EntityManager, In } from 'typeorm';
import { Clock, dateIn, daysBetween } from '../base/index.js';
import { Appointment } from '../book/index.js';
import { CHANNELS, type Channel, Client, Consent } from '../clients/index.js';
import { Visit } from '../cuts/index.js';
import { goneBy } from '../engine/plan/index.js';
import { Salon } from '../salon/index.js';
import { Reader, rowsBy } from '../store/index.js';
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
  /** Those after this place; see `placeOf`. */
  readonly after?: DuePlace | undefined;
  readonly skip: number;
  readonly take: number;
};

/** What the list is ordered by: hundredths of the chance that the shape has gone, from high to low; due date; client. */
export type DuePlace = readonly [goneHundredths: number, dueOn: string, clientId: string];

export function placeOf({ goneProbability, dueOn, clientId }: Due): DuePlace {
  return [Math.round(100 * goneProbability), dueOn, clientId];
}

type Due = Pick<DueClient, 'goneProbability' | 'dueOn' | 'clientId'>;

const textOrder = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);

/** Below 0 where `a` is the more urgent. */
function inOrder(a: DuePlace, b: DuePlace): number {
  return b[0] - a[0] || textOrder(a[1], b[1]) || textOrder(a[2], b[2]);
}

export type DuePage = {
  readonly clients: DueClient[];
  /** How many there are on all pages. */
  readonly total: number;
  /** How many `gone` left out. */
  readonly setAside: number;
};

/** What decides who is on the list, and where; the rest is asked of those who are shown. */
type Row = Pick<ShapeWindow, 'clientId' | 'earliestOn' | 'dueOn' | 'latestOn' | 'packed' | 'cutOn'>;

type Urgent = { readonly row: Row; readonly goneProbability: number };

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
   * has nothing booked that is not over; not those who asked to be left alone until later. The likeliest to have lost the
   * shape first (to the nearest hundredth), then the longest due.
   */
  async until(salonId: string, until: string, limit = 200): Promise<DueClient[]> {
    return (await this.page(salonId, { until, skip: 0, take: limit })).clients;
  }

  /** A page of `until`, of one stylist's clients or all. */
  async page(salonId: string, { until, staffId, gone, after, skip, take }: DuePageAsked): Promise<DuePage> {
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
    const urgent = inUrgency(meant, today, after);
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
    urgent: readonly Urgent[],
    said: ReadonlyMap<string, NotNow>,
  ): Promise<DueClient[]> {
    const ids = urgent.map(({ row }) => row.clientId);
    const clients = await manager.findBy(Client, { id: In(ids) });
    const people = new Map(clients.map((client) => [client.id, client]));
    const windows = await rowsBy(manager, ShapeWindow, 'clientId', ids, ['clientId', 'reason']);
    const reasons = new Map(windows.map(({ clientId, reason }) => [clientId, reason]));
    const answers = await this.answers(manager, ids);
    const visits = await this.lastVisits(manager, ids);
    const others = await this.contacts.newest(manager, ids);
    return urgent.flatMap(({ row, goneProbability }) => {
      const { clientId, earliestOn, dueOn, latestOn } = row;
      const client = people.get(clientId);
      const reason = reasons.get(clientId);
      // Merged or erased since the list was made.
      if (!client || reason === undefined) return [];
      const { givenName, familyName, knownAs, phone, email, preferredStaffId } = client;
      const notNow = said.get(clientId);
      return {
        ...{ clientId, clientName: `${givenName} ${familyName}`, knownAs, phone, email, preferredStaffId },
        ...{ earliestOn, dueOn, latestOn, reason, goneProbability },
        lastContact: newestOf([
          visits.get(clientId),
          others.get(clientId),
          notNow && { at: notNow.saidAt, what: 'not now' },
        ]),
        mayInvite: answers(clientId),
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
          .where('a.clientId = w.clientId AND a.salonId = :salonId AND a.endsAt > :now')
          .andWhere("a.state IN ('booked', 'arrived')")
          .getQuery();
        return `NOT EXISTS ${ahead}`;
      })
      .setParameters({ now, staffId })
      .select(
        ['clientId', 'earliestOn', 'dueOn', 'latestOn', 'packed', 'cutOn'].map(
          (name) => `w.${name} AS "${name}"`,
        ),
      )
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

/** The likeliest to have lost the shape first, and only those after the place `after`. */
function inUrgency(rows: readonly Row[], today: string, after: DuePlace | undefined): Urgent[] {
  const days = new Map<string, number>();
  for (const { cutOn } of rows) if (!days.has(cutOn)) days.set(cutOn, daysBetween(cutOn, today));
  const chances = goneBy(
    batchOfStored(rows),
    rows.map(({ cutOn }) => days.get(cutOn) ?? 0),
  );
  const all = rows.map((row, i) => {
    const goneProbability = chances[i] ?? 0;
    const { dueOn, clientId } = row;
    return { row, goneProbability, place: placeOf({ goneProbability, dueOn, clientId }) };
  });
  const rest = after ? all.filter(({ place }) => inOrder(after, place) < 0) : all;
  return rest.sort((a, b) => inOrder(a.place, b.place));
}

function newestOf(contacts: readonly (Contact | undefined)[]): Contact | null {
  return contacts.reduce<Contact | null>(
    (newest, contact) =>
      contact && contact.at > (newest?.at ?? Number.NEGATIVE_INFINITY) ? contact : newest,
    null,
  );
}
