import { Injectable } from '@nestjs/common';
import { type EntityManager, In, LessThan, MoreThan, MoreThanOrEqual } from 'typeorm';
import { Clock, DomainError, dateIn, dateInWords, given, timeIn, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { type Actor, Audit } from '../identity/index.js';
import { Salon, Salons, Service, Staff } from '../salon/index.js';
import {
  keysetPage,
  loadForEdit,
  newId,
  type Page,
  type PageAsked,
  Reader,
  UnitOfWork,
} from '../store/index.js';
import { Appointment } from './entities.js';
import { type Slot, Slots } from './slots.js';
import { FreedInput, WaitInput } from './waiting-dto.js';
import { WaitingEntry, WaitingOffer } from './waiting-entities.js';
import { bestFit, type Fit, suits } from './waiting-matches.js';

const ENTRY = { code: 'WAITING', name: 'entry of the waiting list' };
const MINUTE_MS = 60_000;

/** One who waits, as the desk reads it. */
export type WaitingLine = {
  readonly entry: WaitingEntry;
  readonly clientName: string;
  readonly serviceName: string;
  readonly staffName: string | null;
};

/** One who waits and could have a freed time. */
export type WaitingMatch = WaitingLine & {
  readonly slot: Slot;
  /** Why she is proposed at this place, in plain words. */
  readonly why: string;
};

/** Clients who would take a time that becomes free, and who of them fits one best. */
@Injectable()
export class WaitingList {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly salons: Salons,
    private readonly slots: Slots,
  ) {}

  /**
   * `input` is a WaitInput. Throws INPUT.INVALID, WAITING.RANGE, WAITING.HOURS, WAITING.PAST, BOOK.NO_SUCH_CLIENT,
   * BOOK.NO_SUCH_SERVICE and BOOK.NO_SUCH_STYLIST.
   */
  async add(input: unknown, actor: Actor): Promise<WaitingEntry> {
    const wanted = await this.checked(input);
    return await this.units.run(async (manager) => {
      const { salonId } = await this.requireMeant(manager, wanted);
      const entry = manager.create(WaitingEntry, {
        id: newId(),
        salonId,
        clientId: wanted.clientId,
        ...wishOf(wanted),
        state: 'waiting',
        addedAt: this.clock.now(),
        appointmentId: null,
      });
      await manager.insert(WaitingEntry, entry);
      await this.record(manager, actor, 'waiting.add', entry.id);
      return entry;
    });
  }

  /**
   * Changes what she waits for, not who; `input` is a WaitInput. Offers that stand keep standing: they say what they
   * offer. Throws what `add` throws, WAITING.NOT_FOUND, WAITING.OVER when she no longer waits, and WAITING.STALE.
   */
  async change(entryId: string, input: unknown, actor: Actor): Promise<WaitingEntry> {
    const { clientId } = await this.get(entryId);
    const wanted = await this.checked({ ...given(input), clientId });
    return await this.units.run(async (manager) => {
      const version = wanted.expectedVersion ?? undefined;
      const entry = await loadForEdit(manager, WaitingEntry, entryId, ENTRY, version);
      if (entry.state !== 'waiting') {
        throw new DomainError('refused', 'WAITING.OVER', 'She no longer waits. Put her on the list anew.');
      }
      await this.requireMeant(manager, wanted);
      await manager.save(Object.assign(entry, wishOf(wanted)));
      await this.record(manager, actor, 'waiting.change', entryId);
      return entry;
    });
  }

  /** Throws WAITING.NOT_FOUND. */
  async get(entryId: string): Promise<WaitingEntry> {
    const entry = await this.reader.manager.findOneBy(WaitingEntry, { id: entryId });
    if (!entry) throw DomainError.notFound('WAITING.NOT_FOUND', ENTRY.name);
    return entry;
  }

  private async checked(input: unknown): Promise<WaitInput> {
    const wanted = await validated(WaitInput, input);
    const { fromDate, toDate, timeFrom, timeTo } = wanted;
    if (toDate < fromDate) {
      throw DomainError.invalid('WAITING.RANGE', 'toDate', `To: give ${fromDate} or a later day.`);
    }
    if (timeFrom && timeTo && timeTo <= timeFrom) {
      const message = `Done by: give a time later than ${timeFrom}.`;
      throw DomainError.invalid('WAITING.HOURS', 'timeTo', message);
    }
    return wanted;
  }

  private async requireMeant(
    manager: EntityManager,
    { clientId, serviceId, staffId, toDate }: WaitInput,
  ): Promise<Client> {
    const refuse = DomainError.invalid;
    const client = await manager.findOneBy(Client, { id: clientId });
    if (!client) throw refuse('BOOK.NO_SUCH_CLIENT', 'clientId', 'Client: choose one of the list.');
    const { salonId } = client;
    const { zone } = await manager.findOneByOrFail(Salon, { id: salonId });
    if (toDate < dateIn(zone, this.clock.now())) {
      throw refuse('WAITING.PAST', 'toDate', 'To: that day has passed. Give one from today on.');
    }
    if (!(await manager.existsBy(Service, { id: serviceId, salonId, active: true }))) {
      throw refuse('BOOK.NO_SUCH_SERVICE', 'serviceId', 'Service: choose one of the list.');
    }
    if (staffId && !(await manager.existsBy(Staff, { id: staffId, salonId, active: true, cutsHair: true }))) {
      throw refuse('BOOK.NO_SUCH_STYLIST', 'staffId', 'Stylist: choose one of the list, or nobody.');
    }
    return client;
  }

  /** She no longer waits; offers to her are withdrawn. Throws WAITING.NOT_FOUND. */
  async remove(entryId: string, actor: Actor): Promise<void> {
    await this.units.run(async (manager) => {
      const entry = await loadForEdit(manager, WaitingEntry, entryId, ENTRY);
      if (entry.state !== 'waiting') return;
      entry.state = 'removed';
      await manager.save(entry);
      await manager.update(WaitingOffer, { entryId, state: 'open' }, { state: 'withdrawn' });
      await this.record(manager, actor, 'waiting.remove', entryId);
    });
  }

  /** Who waits, the longest first; those whose days have passed are left out. */
  async of(salonId: string): Promise<WaitingLine[]> {
    const { zone } = await this.salons.get(salonId);
    const toDate = MoreThanOrEqual(dateIn(zone, this.clock.now()));
    const entries = await this.reader.manager.find(WaitingEntry, {
      where: { salonId, state: 'waiting', toDate },
      order: { addedAt: 'ASC', id: 'ASC' },
    });
    return await this.named(salonId, entries);
  }

  /** A page of `of`. */
  async page(salonId: string, asked: PageAsked): Promise<Page<WaitingLine>> {
    const { zone } = await this.salons.get(salonId);
    const today = dateIn(zone, this.clock.now());
    const query = this.reader.manager
      .createQueryBuilder(WaitingEntry, 'entry')
      .where("entry.salonId = :salonId AND entry.state = 'waiting' AND entry.toDate >= :today", {
        salonId,
        today,
      });
    const { rows, next } = await keysetPage(query, ['addedAt', 'id'], 'ASC', asked);
    return { rows: await this.named(salonId, rows), next };
  }

  /** `matches` for the time that an appointment held. Throws BOOK.NOT_FOUND. */
  async matchesOf(appointmentId: string): Promise<WaitingMatch[]> {
    const appointment = await this.reader.manager.findOneBy(Appointment, { id: appointmentId });
    if (!appointment) throw DomainError.notFound('BOOK.NOT_FOUND', 'appointment');
    const { salonId, staffId, startsAt, endsAt } = appointment;
    return await this.matches(salonId, { staffId, startsAt, endsAt });
  }

  /**
   * Who could have a stylist's freed time, best first; `input` is a FreedInput. Each is given the free start that uses
   * most of it. Those who asked for this very stylist come first, then who fills most of the time, then who waits
   * longest. Clients who sit elsewhere then are left out. Throws INPUT.INVALID, SALON.NOT_FOUND.
   */
  async matches(salonId: string, input: unknown): Promise<WaitingMatch[]> {
    const { staffId, startsAt, endsAt } = await validated(FreedInput, input);
    const salon = await this.salons.get(salonId);
    const lines = await this.of(salonId);
    const date = dateIn(salon.zone, startsAt);
    const slotsOf = new Map<string, Slot[]>();
    const matches: (WaitingMatch & Pick<Fit, 'filledMinutes'>)[] = [];
    for (const line of lines) {
      const { serviceId, clientId } = line.entry;
      if (!slotsOf.has(serviceId)) slotsOf.set(serviceId, await this.free(salonId, serviceId, staffId, date));
      const suiting = (slotsOf.get(serviceId) ?? []).filter((slot) =>
        suits(line.entry, slot, timeIn(salon.zone, slot.endsAt)),
      );
      const fit = bestFit(suiting, { startsAt, endsAt });
      if (!fit || (await this.sitsElsewhere(clientId, fit.slot))) continue;
      matches.push({ ...line, ...fit, why: whyMatched(line, fit, salon, (endsAt - startsAt) / MINUTE_MS) });
    }
    const asked = ({ entry }: WaitingLine) => (entry.staffId === staffId ? 0 : 1);
    return matches
      .sort(
        (a, b) =>
          asked(a) - asked(b) || b.filledMinutes - a.filledMinutes || a.entry.addedAt - b.entry.addedAt,
      )
      .map(({ filledMinutes: _, ...match }) => match);
  }

  /** None for a service that went off the list or a stylist who left. */
  private async free(salonId: string, serviceId: string, staffId: string, date: string): Promise<Slot[]> {
    const ask = { salonId, serviceId, staffId, fromDate: date, toDate: date, limit: 1000 };
    return await this.slots.find(ask).catch((error: unknown) => {
      if (error instanceof DomainError) return [];
      throw error;
    });
  }

  private sitsElsewhere(clientId: string, { startsAt, endsAt }: Slot): Promise<boolean> {
    return this.reader.manager.existsBy(Appointment, {
      clientId,
      state: In(['booked', 'arrived', 'done']),
      startsAt: LessThan(endsAt),
      endsAt: MoreThan(startsAt),
    });
  }

  private async named(salonId: string, entries: readonly WaitingEntry[]): Promise<WaitingLine[]> {
    const { manager } = this.reader;
    const clients = await manager.find(Client, {
      select: { id: true, givenName: true, familyName: true, knownAs: true },
      where: { id: In(entries.map(({ clientId }) => clientId)) },
    });
    const services = await this.salons.services(salonId);
    const staff = await this.salons.staff(salonId);
    return entries.map((entry) => {
      const client = clients.find(({ id }) => id === entry.clientId);
      return {
        entry,
        clientName: client ? `${client.knownAs ?? client.givenName} ${client.familyName}`.trim() : '',
        serviceName: services.find(({ id }) => id === entry.serviceId)?.name ?? '',
        staffName: staff.find(({ id }) => id === entry.staffId)?.name ?? null,
      };
    });
  }

  private record(manager: EntityManager, actor: Actor, action: string, subjectId: string): Promise<void> {
    return this.audit.record(manager, actor, { action, subjectKind: 'waiting-entry', subjectId });
  }
}

function wishOf(wanted: WaitInput) {
  const { serviceId, fromDate, toDate, weekdays, notes } = wanted;
  return {
    serviceId,
    staffId: wanted.staffId ?? null,
    fromDate,
    toDate,
    weekdays: weekdays && weekdays.length > 0 ? weekdays : null,
    timeFrom: wanted.timeFrom ?? null,
    timeTo: wanted.timeTo ?? null,
    notes: notes ?? '',
  };
}

function whyMatched(line: WaitingLine, fit: Fit, salon: Salon, freedMinutes: number): string {
  const since = dateInWords(dateIn(salon.zone, line.entry.addedAt), salon.locale);
  return [
    line.staffName ? `asked for ${line.staffName}` : 'comes to anybody',
    `fills ${fit.filledMinutes} of ${freedMinutes} minutes`,
    `waiting since ${since}`,
  ].join(', ');
}
