import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, validated } from '../base/index.js';
import { type Actor, Audit, SYSTEM } from '../identity/index.js';
import { Salon, Salons, type Stretch } from '../salon/index.js';
import { ColourGate } from '../skin-tests/index.js';
import { loadForEdit, newId, Reader, UnitOfWork } from '../store/index.js';
import { freeClaims, releaseClaims, takeClaims } from './claims.js';
import { type BookDay, readDay } from './day.js';
import { BookInput, CancelInput, MoveInput, type WhenInput } from './dto.js';
import { type Before, BookEffects } from './effects.js';
import { Appointment, Claim } from './entities.js';
import { fittedSteps, layOut } from './layout.js';
import { NextFree } from './next-free.js';
import { type Parties, requireParties, requireSkills, servicesOf } from './parties.js';
import { requireWorking } from './require-working.js';
import { requireStep } from './states.js';
import { requireBookable, wantedStart, withEnd } from './when.js';

const APPOINTMENT = { code: 'BOOK', name: 'appointment' };
const MINUTE_MS = 60_000;

/**
 * The appointment book. Neither a stylist's time nor a chair is ever held twice and a client never sits in two chairs;
 * every change, its audit entry and what later rooms hang on it are one transaction.
 */
@Injectable()
export class Book {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly salons: Salons,
    private readonly nextFree: NextFree,
    private readonly effects: BookEffects,
    private readonly colourGate: ColourGate,
  ) {}

  /** Throws BOOK.NOT_FOUND. */
  async get(id: string): Promise<Appointment> {
    const appointment = await this.reader.manager.findOneBy(Appointment, { id });
    if (!appointment) throw DomainError.notFound('BOOK.NOT_FOUND', 'appointment');
    return appointment;
  }

  /**
   * Books a chair; `input` is a BookInput. The start may lie in the running quarter-hour, for a walk-in, but no earlier.
   * Throws INPUT.INVALID and the codes of `requireParties`, `wantedStart`, `withEnd` and `requireBookable`;
   * BOOK.SKILL_MISSING; BOOK.OUTSIDE_ROTA unless `outsideRota`; SKIN_TEST.* for a colour that may not be done then; and
   * the codes of `freeClaims`, of which BOOK.TAKEN and BOOK.RESOURCE_TAKEN carry the next free slots in their details.
   */
  async book(input: unknown, actor: Actor): Promise<Appointment> {
    const wanted = await validated(BookInput, input);
    return await this.change((manager) => this.bookIn(manager, wanted, actor));
  }

  /** As `book`, in the caller's unit of work, to be run through `change`. */
  async bookIn(
    manager: EntityManager,
    wanted: BookInput,
    actor: Actor,
    seriesId: string | null = null,
  ): Promise<Appointment> {
    requireRightOutsideRota(wanted, actor);
    const now = this.clock.now();
    const parties = await requireParties(manager, wanted);
    const { salon, service } = parties;
    const startsAt = wantedStart(salon.zone, wanted);
    if (startsAt === undefined) {
      const message = 'Date: give the day and the time of the start.';
      throw DomainError.invalid('BOOK.TIME_MISSING', 'date', message);
    }
    const stretch = withEnd(startsAt, wanted, service.minutes);
    const appointment = manager.create(Appointment, {
      id: newId(),
      salonId: salon.id,
      clientId: parties.client.id,
      staffId: parties.staff.id,
      serviceId: service.id,
      alsoServiceIds: wanted.alsoServiceIds?.length ? wanted.alsoServiceIds : null,
      ...stretch,
      steps: fittedSteps(service.steps, lengthOf(stretch)),
      resources: service.resources ?? null,
      state: 'booked',
      bookedAt: now,
      bookedById: actor.accountId,
      moves: 0,
      cancelledAt: null,
      notes: wanted.notes ?? '',
      seriesId,
      // Who books her own appointment has said that she comes.
      confirmedAt: actor.role === 'client' ? now : null,
      arrivedAt: null,
      seatedAt: null,
    });
    requireBookable(salon.zone, startsAt, now, startField(wanted));
    requireSkills(parties);
    const claims = await freeClaims(manager, appointment);
    await this.requireAllowed(manager, appointment, parties, wanted, now);
    await manager.insert(Appointment, appointment);
    await manager.insert(Claim, [...claims]);
    await this.record(manager, actor, 'appointment.book', appointment, wanted.outsideRota === true);
    await this.effects.happened('booked', manager, appointment);
    return appointment;
  }

  /**
   * Moves to another time, stylist, service or length; `input` is a MoveInput and what it leaves out stays. Only what is
   * booked moves: an arrival must be taken back first. A move to where it already is changes nothing.
   * Throws what `book` throws, BOOK.NOT_FOUND, BOOK.WRONG_STATE and BOOK.STALE.
   */
  async move(id: string, input: unknown, actor: Actor): Promise<Appointment> {
    const wanted = await validated(MoveInput, input);
    return await this.change((manager) => this.moveIn(manager, id, wanted, actor));
  }

  /** As `move`, in the caller's unit of work, to be run through `change`. */
  async moveIn(manager: EntityManager, id: string, wanted: MoveInput, actor: Actor): Promise<Appointment> {
    requireRightOutsideRota(wanted, actor);
    const now = this.clock.now();
    const version = wanted.expectedVersion ?? undefined;
    const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT, version);
    requireStep(appointment.state, 'move');
    const { startsAt, endsAt, staffId, serviceId, alsoServiceIds } = appointment;
    const before = { startsAt, endsAt, staffId, serviceId };
    // Another service takes the place of all that was to be done.
    const otherService = !!wanted.serviceId && wanted.serviceId !== serviceId;
    const also = otherService ? null : alsoServiceIds;
    const parties = await requireParties(
      manager,
      {
        clientId: appointment.clientId,
        staffId: wanted.staffId ?? staffId,
        serviceId: wanted.serviceId ?? serviceId,
        alsoServiceIds: also,
      },
      servicesOf(appointment),
    );
    const { salon, service } = parties;
    const start = wantedStart(salon.zone, wanted) ?? startsAt;
    const stretch = withEnd(start, wanted, otherService ? service.minutes : lengthOf(before));
    Object.assign(appointment, {
      staffId: parties.staff.id,
      serviceId: service.id,
      alsoServiceIds: also ?? null,
      ...stretch,
    });
    if (sameTime(appointment, before)) return appointment;
    appointment.steps = fittedSteps(otherService ? service.steps : appointment.steps, lengthOf(stretch));
    if (otherService) appointment.resources = service.resources ?? null;
    if (start !== startsAt) requireBookable(salon.zone, start, now, startField(wanted));
    if (otherService || parties.staff.id !== staffId) requireSkills(parties);
    const claims = await freeClaims(manager, appointment);
    await this.requireAllowed(manager, appointment, parties, wanted, now);
    appointment.moves += 1;
    // Who moves her own appointment has said that she comes; who is moved has yet to.
    if (start !== startsAt) appointment.confirmedAt = actor.role === 'client' ? now : null;
    await takeClaims(manager, appointment, claims);
    await manager.save(appointment);
    await this.record(manager, actor, 'appointment.move', appointment, wanted.outsideRota === true);
    await this.effects.moved(manager, appointment, before);
    return appointment;
  }

  /** Gives its time free; `input` is a CancelInput. Throws BOOK.NOT_FOUND, BOOK.WRONG_STATE and BOOK.STALE. */
  async cancel(id: string, input: unknown, actor: Actor): Promise<Appointment> {
    const { expectedVersion } = await validated(CancelInput, input ?? {});
    return await this.change((manager) => this.cancelIn(manager, id, actor, expectedVersion ?? undefined));
  }

  /** As `cancel`, in the caller's unit of work, to be run through `change`. */
  async cancelIn(manager: EntityManager, id: string, actor: Actor, version?: number): Promise<Appointment> {
    const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT, version);
    requireStep(appointment.state, 'cancel');
    appointment.state = 'cancelled';
    appointment.cancelledAt = this.clock.now();
    await releaseClaims(manager, id);
    return await this.stepped(manager, actor, appointment, 'cancelled', 'appointment.cancel');
  }

  /** The client says that she comes. Throws BOOK.NOT_FOUND and BOOK.WRONG_STATE. */
  async confirm(id: string, actor: Actor): Promise<Appointment> {
    return await this.units.run(async (manager) => {
      const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT);
      requireStep(appointment.state, 'confirm');
      if (typeof appointment.confirmedAt === 'number') return appointment;
      appointment.confirmedAt = this.clock.now();
      return await this.stepped(manager, actor, appointment, 'confirmed', 'appointment.confirm');
    });
  }

  /** Runs a unit of work that changes the book; a refusal because something is taken names the next free slots. */
  async change<T>(work: (manager: EntityManager) => Promise<T>): Promise<T> {
    return await this.nextFree.orNamed(() => this.units.run(work));
  }

  /**
   * The client is here: on the day itself (BOOK.NOT_TODAY otherwise), and even after a no-show, as long as nobody else
   * was given the time meanwhile (BOOK.TAKEN).
   */
  async arrive(id: string, actor: Actor): Promise<Appointment> {
    return await this.change((manager) => this.arriveIn(manager, id, actor));
  }

  /** As `arrive`, in the caller's unit of work, to be run through `change`. */
  async arriveIn(manager: EntityManager, id: string, actor: Actor): Promise<Appointment> {
    const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT);
    requireStep(appointment.state, 'arrive');
    const zone = await zoneOf(manager, appointment);
    const date = dateIn(zone, appointment.startsAt);
    if (date !== dateIn(zone, this.clock.now())) {
      throw new DomainError(
        'refused',
        'BOOK.NOT_TODAY',
        `This appointment is for ${date}. Move it to today first.`,
      );
    }
    if (appointment.state === 'no-show') {
      await takeClaims(manager, appointment, await freeClaims(manager, appointment));
    }
    appointment.state = 'arrived';
    appointment.arrivedAt = this.clock.now();
    return await this.stepped(manager, actor, appointment, 'arrived', 'appointment.arrive');
  }

  /** She sits in the chair. Once seated, nothing changes. Throws BOOK.NOT_FOUND and BOOK.WRONG_STATE. */
  async seat(id: string, actor: Actor): Promise<Appointment> {
    return await this.units.run(async (manager) => {
      const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT);
      requireStep(appointment.state, 'seat');
      if (typeof appointment.seatedAt === 'number') return appointment;
      appointment.seatedAt = this.clock.now();
      await manager.save(appointment);
      await this.record(manager, actor, 'appointment.seat', appointment);
      return appointment;
    });
  }

  /** Takes back an arrival that was pressed by mistake. */
  async unArrive(id: string, actor: Actor): Promise<Appointment> {
    return await this.units.run(async (manager) => {
      const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT);
      requireStep(appointment.state, 'unArrive');
      Object.assign(appointment, { state: 'booked', arrivedAt: null, seatedAt: null });
      return await this.stepped(manager, actor, appointment, 'unArrived', 'appointment.un-arrive');
    });
  }

  /** The client did not come; once the start has passed (BOOK.TOO_EARLY before). Gives the time free. */
  async noShow(id: string, actor: Actor): Promise<Appointment> {
    return await this.change(async (manager) => {
      const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT);
      requireStep(appointment.state, 'noShow');
      if (this.clock.now() < appointment.startsAt) {
        throw new DomainError(
          'refused',
          'BOOK.TOO_EARLY',
          'It has not begun yet. Wait until its time has passed, or cancel it.',
        );
      }
      appointment.state = 'no-show';
      await releaseClaims(manager, id);
      return await this.stepped(manager, actor, appointment, 'noShow', 'appointment.no-show');
    });
  }

  /** The visit took place; called in the transaction that closes it. Throws BOOK.NOT_TODAY for a later day's appointment. */
  async markDone(manager: EntityManager, id: string, actor: Actor = SYSTEM): Promise<Appointment> {
    const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT);
    requireStep(appointment.state, 'markDone');
    const zone = await zoneOf(manager, appointment);
    const date = dateIn(zone, appointment.startsAt);
    if (date > dateIn(zone, this.clock.now())) {
      throw new DomainError(
        'refused',
        'BOOK.NOT_TODAY',
        `This appointment is for ${date}. Move it to today first.`,
      );
    }
    appointment.state = 'done';
    return await this.stepped(manager, actor, appointment, 'done', 'appointment.done');
  }

  /** What the day view shows. Throws BOOK.DATE_INVALID, SALON.NOT_FOUND. */
  async day(salonId: string, date: string): Promise<BookDay> {
    const salon = await this.salons.get(salonId);
    return await readDay(this.reader.manager, salon, date);
  }

  /** Seven days of one stylist's book from `fromDate` on. Throws BOOK.DATE_INVALID, SALON.NOT_FOUND. */
  async week(salonId: string, staffId: string, fromDate: string): Promise<BookDay[]> {
    const salon = await this.salons.get(salonId);
    const days: BookDay[] = [];
    let date = fromDate;
    for (let i = 0; i < 7; i++) {
      const day = await readDay(this.reader.manager, salon, date);
      days.push({ ...day, columns: day.columns.filter((column) => column.staffId === staffId) });
      date = addDays(date, 1);
    }
    return days;
  }

  private async requireAllowed(
    manager: EntityManager,
    appointment: Appointment,
    { salon, staff, service, client }: Parties,
    wanted: WhenInput,
    now: number,
  ): Promise<void> {
    if (!wanted.outsideRota) {
      await requireWorking(manager, salon, staff, layOut(appointment, appointment).active);
    }
    if (service.kind === 'colour') {
      await this.colourGate.check(manager, {
        clientId: client.id,
        salonId: salon.id,
        at: appointment.startsAt,
        now,
        ...(wanted.productLine && { productLine: wanted.productLine }),
      });
    }
  }

  /** Saves the new state, and lets the audit and the later rooms know. */
  private async stepped(
    manager: EntityManager,
    actor: Actor,
    appointment: Appointment,
    what: Parameters<BookEffects['happened']>[0],
    action: string,
  ): Promise<Appointment> {
    await manager.save(appointment);
    await this.record(manager, actor, action, appointment);
    await this.effects.happened(what, manager, appointment);
    return appointment;
  }

  private record(
    manager: EntityManager,
    actor: Actor,
    action: string,
    { id, startsAt, endsAt, staffId, serviceId }: Appointment,
    outsideRota = false,
  ): Promise<void> {
    const details = { startsAt, endsAt, staffId, serviceId, ...(outsideRota && { outsideRota }) };
    return this.audit.record(manager, actor, { action, subjectKind: 'appointment', subjectId: id, details });
  }
}

/** Throws BOOK.ROTA_CLOSED to a client: only the salon decides to work outside its rota. */
function requireRightOutsideRota(wanted: WhenInput, actor: Actor): void {
  if (wanted.outsideRota && actor.role === 'client') {
    throw new DomainError(
      'forbidden',
      'BOOK.ROTA_CLOSED',
      'Only the salon can book outside its working hours.',
    );
  }
}

function lengthOf({ startsAt, endsAt }: Stretch): number {
  return (endsAt - startsAt) / MINUTE_MS;
}

function startField({ date }: WhenInput): string {
  return date ? 'date' : 'startsAt';
}

function sameTime(a: Before, b: Before): boolean {
  return (
    a.startsAt === b.startsAt &&
    a.endsAt === b.endsAt &&
    a.staffId === b.staffId &&
    a.serviceId === b.serviceId
  );
}

async function zoneOf(manager: EntityManager, { salonId }: Appointment): Promise<string> {
  return (await manager.findOneByOrFail(Salon, { id: salonId })).zone;
}
