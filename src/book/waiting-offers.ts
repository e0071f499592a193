import { Injectable } from '@nestjs/common';
import { type EntityManager, LessThan, MoreThan } from 'typeorm';
import { Clock, DomainError, dateIn, timeIn, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit, asClient } from '../identity/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { Book } from './book.js';
import type { Appointment } from './entities.js';
import { issueLink, openLink } from './private-links.js';
import { OfferInput, TakeInput } from './waiting-dto.js';
import { WaitingEffects } from './waiting-effects.js';
import { WaitingEntry, WaitingOffer } from './waiting-entities.js';
import { WaitingList } from './waiting-list.js';

const OFFER = { code: 'OFFER', name: 'offer' };
const ENTRY = { code: 'WAITING', name: 'entry of the waiting list' };
const MINUTE_MS = 60_000;
const USUAL_STANDS_MINUTES = 720;

/** Codes of the book by which an offered time turns out to be taken or no longer to be had. */
const LOST_CODES: readonly string[] = ['BOOK.TAKEN', 'BOOK.RESOURCE_TAKEN', 'BOOK.OUTSIDE_ROTA', 'BOOK.PAST'];

export type MadeOffer = {
  readonly offer: WaitingOffer;
  /** Secret for the link; it can never be read again, but others can be issued. */
  readonly token: string;
};

/** What a client sees of an offer. */
export type LinkedOffer = {
  readonly offerId: string;
  readonly state: WaitingOffer['state'] | 'expired';
  readonly clientName: string;
  readonly serviceName: string;
  readonly staffName: string;
  readonly startsAt: number;
  readonly endsAt: number;
  readonly date: string;
  readonly time: string;
  readonly expiresAt: number;
  readonly salon: Pick<Salon, 'name' | 'address' | 'phone' | 'zone' | 'locale'>;
};

/**
 * Offers a freed time to those who wait: the first to accept has it. Where it is long enough for two, offers that do not
 * overlap do not stand in each other's way.
 */
@Injectable()
export class WaitingOffers {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly book: Book,
    private readonly list: WaitingList,
    private readonly effects: WaitingEffects,
  ) {}

  /**
   * Offers a freed time to some of those who match it; `input` is an OfferInput. Throws INPUT.INVALID and
   * OFFER.NO_MATCH, naming `entryIds`, for one who does not match (any more).
   */
  async offer(salonId: string, input: unknown, actor: Actor): Promise<MadeOffer[]> {
    const { entryIds, standsMinutes, ...freed } = await validated(OfferInput, input);
    const matches = await this.list.matches(salonId, freed);
    const chosen = entryIds.map((entryId) => {
      const match = matches.find(({ entry }) => entry.id === entryId);
      if (match) return match;
      throw DomainError.invalid(
        'OFFER.NO_MATCH',
        'entryIds',
        'Offer: one of those chosen does not match that time, or no longer. Choose again.',
      );
    });
    const now = this.clock.now();
    const groupId = newId();
    return await this.units.run(async (manager) => {
      const made: MadeOffer[] = [];
      for (const { entry, slot } of chosen) {
        const { staffId, startsAt, endsAt } = slot;
        const offer = manager.create(WaitingOffer, {
          id: newId(),
          groupId,
          entryId: entry.id,
          salonId,
          clientId: entry.clientId,
          serviceId: entry.serviceId,
          staffId,
          startsAt,
          endsAt,
          state: 'open',
          offeredAt: now,
          expiresAt: Math.min(startsAt, now + (standsMinutes ?? USUAL_STANDS_MINUTES) * MINUTE_MS),
        });
        await manager.insert(WaitingOffer, offer);
        const token = await this.issue(manager, offer);
        await this.record(manager, actor, 'waiting.offer', offer);
        await this.effects.offered(manager, offer);
        made.push({ offer, token });
      }
      return made;
    });
  }

  /** A secret for the client's link to her offer, to be put into a message. Opens, to read, until the time offered has passed. */
  issue(manager: EntityManager, { id: offerId, clientId, endsAt }: WaitingOffer): Promise<string> {
    return issueLink(manager, 'offer', { offerId, clientId }, this.clock.now(), endsAt);
  }

  /** Throws LINK.NOT_VALID. */
  async resolve(token: unknown): Promise<LinkedOffer> {
    const { manager } = this.reader;
    const offer = await this.open(manager, token);
    const { name, address, phone, zone, locale } = await manager.findOneByOrFail(Salon, {
      id: offer.salonId,
    });
    const client = await manager.findOneOrFail(Client, {
      select: { id: true, givenName: true, knownAs: true },
      where: { id: offer.clientId },
    });
    const { startsAt, endsAt, expiresAt } = offer;
    return {
      offerId: offer.id,
      state: offer.state === 'open' && expiresAt <= this.clock.now() ? 'expired' : offer.state,
      clientName: client.knownAs ?? client.givenName,
      serviceName: (await manager.findOneByOrFail(Service, { id: offer.serviceId })).name,
      staffName: (await manager.findOneByOrFail(Staff, { id: offer.staffId })).name,
      startsAt,
      endsAt,
      date: dateIn(zone, startsAt),
      time: timeIn(zone, startsAt),
      expiresAt,
      salon: { name, address, phone, zone, locale },
    };
  }

  /**
   * Books the offered time, if nobody was quicker: one unit of work books it, ends her waiting and tells the others
   * that it is gone. Throws LINK.NOT_VALID, OFFER.GONE, OFFER.EXPIRED, and what else keeps `Book.book` from it.
   */
  async accept(token: unknown, address?: string): Promise<Appointment> {
    const actor = asClient(address);
    try {
      return await this.book.change(async (manager) => {
        const { id } = await this.open(manager, token);
        const offer = await loadForEdit(manager, WaitingOffer, id, OFFER);
        requireOpen(offer, this.clock.now());
        const { clientId, staffId, serviceId, startsAt, endsAt } = offer;
        const minutes = (endsAt - startsAt) / MINUTE_MS;
        const appointment = await this.book.bookIn(
          manager,
          { clientId, staffId, serviceId, startsAt, minutes },
          actor,
        );
        offer.state = 'accepted';
        await manager.save(offer);
        await this.endWaiting(manager, offer.entryId, appointment);
        await this.record(manager, actor, 'waiting.accept', offer);
        await this.effects.accepted(manager, offer, appointment);
        await this.endGroup(manager, offer);
        return appointment;
      });
    } catch (error) {
      if (!(error instanceof DomainError) || !LOST_CODES.includes(error.code)) throw error;
      // Booked otherwise meanwhile: nobody of the group can have it any more.
      await this.units.run(async (manager) => this.endGroup(manager, await this.open(manager, token)));
      throw gone();
    }
  }

  /**
   * Books one who waits, who said yes by telephone; `input` is a TakeInput. Others who were offered that time learn that
   * it is gone. Throws INPUT.INVALID, WAITING.NOT_FOUND, WAITING.OVER, and what `Book.book` throws.
   */
  async take(entryId: string, input: unknown, actor: Actor): Promise<Appointment> {
    const { staffId, startsAt } = await validated(TakeInput, input);
    return await this.book.change(async (manager) => {
      const entry = await loadForEdit(manager, WaitingEntry, entryId, ENTRY);
      if (entry.state !== 'waiting') {
        throw new DomainError('refused', 'WAITING.OVER', 'She no longer waits for a time.');
      }
      const { clientId, serviceId } = entry;
      const wanted = { clientId, serviceId, staffId, startsAt };
      const appointment = await this.book.bookIn(manager, wanted, actor);
      await this.endWaiting(manager, entryId, appointment);
      const rivals = await manager.findBy(WaitingOffer, {
        staffId,
        state: 'open',
        startsAt: LessThan(appointment.endsAt),
        endsAt: MoreThan(startsAt),
      });
      await this.tellGone(manager, rivals);
      return appointment;
    });
  }

  /** What was offered of a stretch of a stylist's time, the newest first. */
  async ofTime(
    salonId: string,
    { staffId, startsAt, endsAt }: Pick<Appointment, 'staffId' | 'startsAt' | 'endsAt'>,
  ): Promise<WaitingOffer[]> {
    return await this.reader.manager.find(WaitingOffer, {
      where: { salonId, staffId, startsAt: LessThan(endsAt), endsAt: MoreThan(startsAt) },
      order: { offeredAt: 'DESC', id: 'DESC' },
    });
  }

  /** She does not want it and waits on. Throws LINK.NOT_VALID. */
  async decline(token: unknown): Promise<void> {
    await this.units.run(async (manager) => {
      const { id } = await this.open(manager, token);
      await manager.update(WaitingOffer, { id, state: 'open' }, { state: 'declined' });
    });
  }

  private async open(manager: EntityManager, token: unknown): Promise<WaitingOffer> {
    const link = await openLink(manager, 'offer', token, this.clock.now());
    return await manager.findOneByOrFail(WaitingOffer, { id: link.offerId ?? '' });
  }

  /** Those who were offered a time that overlaps it and have not answered learn that it is gone. */
  private async endGroup(manager: EntityManager, { groupId, startsAt, endsAt }: WaitingOffer): Promise<void> {
    const others = await manager.findBy(WaitingOffer, {
      groupId,
      state: 'open',
      startsAt: LessThan(endsAt),
      endsAt: MoreThan(startsAt),
    });
    await this.tellGone(manager, others);
  }

  private async tellGone(manager: EntityManager, offers: readonly WaitingOffer[]): Promise<void> {
    for (const offer of offers) {
      offer.state = 'gone';
      await manager.save(offer);
      await this.effects.gone(manager, offer);
    }
  }

  /** She has what she waited for; what else stands open to her is withdrawn. */
  private async endWaiting(manager: EntityManager, entryId: string, appointment: Appointment): Promise<void> {
    const entry = await loadForEdit(manager, WaitingEntry, entryId, ENTRY);
    entry.state = 'booked';
    entry.appointmentId = appointment.id;
    await manager.save(entry);
    await manager.update(WaitingOffer, { entryId, state: 'open' }, { state: 'withdrawn' });
  }

  private record(
    manager: EntityManager,
    actor: Actor,
    action: string,
    { id, startsAt, endsAt, staffId }: WaitingOffer,
  ): Promise<void> {
    const details = { startsAt, endsAt, staffId };
    return this.audit.record(manager, actor, {
      action,
      subjectKind: 'waiting-offer',
      subjectId: id,
      details,
    });
  }
}

function requireOpen({ state, expiresAt }: WaitingOffer, now: number): void {
  if (state === 'accepted') {
    throw new DomainError('refused', 'OFFER.ACCEPTED', 'You have accepted this time already: it is yours.');
  }
  if (state !== 'open') throw gone();
  if (expiresAt <= now) {
    throw new DomainError(
      'refused',
      'OFFER.EXPIRED',
      'This offer has run out. You are still on the waiting list.',
    );
  }
}

function gone(): DomainError {
  return new DomainError(
    'conflict',
    'OFFER.GONE',
    'Sorry, this time is taken by now. You are still on the waiting list and will hear of the next one.',
  );
}
