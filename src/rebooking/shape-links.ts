import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, instantAt, timeIn, validated } from '../base/index.js';
import {
  Appointment,
  aheadOf,
  Book,
  ClientLinks,
  issueLink,
  LinkMoveInput,
  notOffered,
  openLink,
  type Slot,
} from '../book/index.js';
import { Client } from '../clients/index.js';
import { asClient } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { Checkout, type Suggestion } from './checkout.js';
import type { ShapeWindow } from './entities.js';

/** How long after her window an invitation still opens: as long as the salon still writes of it. */
const OPENS_AFTER_DAYS = 28;
const SLOTS_SHOWN = 24;
const EVERY_SLOT = 1000;

/** What a client sees of her next cut: when, for what, and free times; nothing of how it was reckoned. */
export type LinkedShape = {
  readonly clientName: string;
  readonly salon: Pick<Salon, 'name' | 'address' | 'phone' | 'zone' | 'locale'>;
  /** An appointment she has already; then there is nothing to choose. */
  readonly booked: { readonly date: string; readonly time: string } | null;
  /** Null when the salon no longer expects her. */
  readonly next: {
    readonly dueOn: string;
    readonly latestOn: string;
    readonly serviceName: string;
    readonly minutes: number;
    /** The best first. */
    readonly slots: readonly Slot[];
  } | null;
};

/**
 * A new secret for a client's link to the free times for her next cut, to be put into a message; opens until four weeks
 * after her window.
 */
export async function issueShapeLink(
  manager: EntityManager,
  { clientId, salonId, latestOn }: Pick<ShapeWindow, 'clientId' | 'salonId' | 'latestOn'>,
  now: number,
): Promise<string> {
  const { zone } = await manager.findOneByOrFail(Salon, { id: salonId });
  const last = [latestOn, dateIn(zone, now)].sort().at(-1)!;
  const expiresAt = instantAt(zone, addDays(last, OPENS_AFTER_DAYS), '00:00');
  return await issueLink(manager, 'shape', { clientId }, now, expiresAt);
}

/** The private link of one client to the free times for her next cut: one press books, without an account. */
@Injectable()
export class ShapeLinks {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly checkout: Checkout,
    private readonly book: Book,
    private readonly links: ClientLinks,
  ) {}

  /** Throws LINK.NOT_VALID. */
  async resolve(token: unknown): Promise<LinkedShape> {
    const { manager } = this.reader;
    const client = await this.open(manager, token);
    const { name, address, phone, zone, locale } = await manager.findOneByOrFail(Salon, {
      id: client.salonId,
    });
    const ahead = await this.ahead(manager, client.id);
    const suggestion = ahead
      ? undefined
      : await this.checkout.suggest(client.id, undefined, { limit: SLOTS_SHOWN });
    return {
      clientName: client.knownAs ?? client.givenName,
      salon: { name, address, phone, zone, locale },
      booked: ahead && { date: dateIn(zone, ahead.startsAt), time: timeIn(zone, ahead.startsAt) },
      next: suggestion ? inShort(suggestion) : null,
    };
  }

  /**
   * Books one of the free times; `input` is a LinkMoveInput. Returns the appointment with the secret of a link to it.
   * Throws INPUT.INVALID, LINK.NOT_VALID, LINK.BOOKED when she has an appointment ahead, LINK.NOT_OFFERED for a time
   * that is none of those on offer, and what `Book.book` throws.
   */
  async take(
    token: unknown,
    input: unknown,
    address?: string,
  ): Promise<{ readonly appointment: Appointment; readonly token: string }> {
    const { startsAt, staffId } = await validated(LinkMoveInput, input);
    const client = await this.open(this.reader.manager, token);
    const suggestion = await this.checkout.suggest(client.id, undefined, { limit: EVERY_SLOT });
    const slots = suggestion?.slots ?? [];
    const slot = slots.find((one) => one.startsAt === startsAt && (!staffId || one.staffId === staffId));
    return await this.book.change(async (manager) => {
      const { id: clientId } = await this.open(manager, token);
      if (await this.ahead(manager, clientId)) {
        throw new DomainError('conflict', 'LINK.BOOKED', 'You have an appointment already.');
      }
      if (!slot) throw notOffered(slots);
      const wanted = {
        clientId,
        staffId: slot.staffId,
        serviceId: slot.serviceId,
        startsAt: slot.startsAt,
      };
      const appointment = await this.book.bookIn(manager, wanted, asClient(address));
      return { appointment, token: await this.links.issue(manager, appointment) };
    });
  }

  private async open(manager: EntityManager, token: unknown): Promise<Client> {
    const { clientId } = await openLink(manager, 'shape', token, this.clock.now());
    return await manager.findOneByOrFail(Client, { id: clientId ?? '' });
  }

  /** The one she sits in the chair for counts too: the shape that was due is being cut. */
  private async ahead(manager: EntityManager, clientId: string): Promise<Appointment | null> {
    return await manager.findOne(Appointment, {
      where: aheadOf(clientId, this.clock.now()),
      order: { startsAt: 'ASC' },
    });
  }
}

function inShort({ window, service, slots }: Suggestion): LinkedShape['next'] {
  const { dueOn, latestOn } = window;
  return { dueOn, latestOn, serviceName: service.name, minutes: service.minutes, slots };
}
