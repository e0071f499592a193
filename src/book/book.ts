import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, validated } from '../base/index.js';
import { type Actor, Audit, SYSTEM } from '../identity/index.js';
import { Salon, Salons } from '../salon/index.js';
import { ColourGate } from '../skin-tests/index.js';
import { loadForEdit, Reader, UnitOfWork } from '../store/index.js';
import { releaseClaims, takeClaims } from './claims.js';
import { type BookDay, readDay } from './day.js';
import { BookInput, CancelInput, MoveInput, type WhenInput } from './dto.js';
import { type Before, BookEffects } from './effects.js';
import { Appointment } from './entities.js';
import { type Parties, requireParties } from './parties.js';
import { requireWorking } from './require-working.js';
import { type Slot, Slots } from './slots.js';
import { requireStep } from './states.js';
import { requireBookable, wantedStart, withEnd } from './when.js';

const APPOINTMENT = { code: 'BOOK', name: 'appointment' };
const MINUTE_MS = 60_000;

/** How many free slots a refusal names, and how many days on it looks for them. */
const NEXT_FREE = 3;
const NEXT_FREE_DAYS = 14;

/**
 * The appointment book. A stylist's time is never held twice and a client never sits in two chairs; every change, its
 * audit entry and what later rooms hang on it are one transaction.
 */
@Injectable()
export class Book {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly audit: Audit,
    private readonly salons: Salons,
    private readonly slots: Slots,
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
   * BOOK.OUTSIDE_ROTA unless `outsideRota`; SKIN_TEST.* for a colour that may not be done then; BOOK.CLIENT_BUSY; and
   * BOOK.TAKEN, whose details carry the next free slots.
   */
  async book(input: unknown, actor: Actor): Promise<Appointment> {
    const wanted = await validated(BookInput, input);
    requireRightOutsideRota(wanted, actor);
    const now = this.clock.now();
    const appointment = new Appointment();
    return await this.orNextFree(appointment, () =>
      this.units.run(async (manager) => {
        const parties = await requireParties(manager, wanted);
        const startsAt = wantedStart(parties.salon.zone, wanted);
        if (startsAt === undefined) {
          throw DomainError.invalid(
            'BOOK.TIME_MISSING',
            'date',
            'Date: give the day and the time of the start.',
          );
        }
        Object.assign(appointment, {
          salonId: parties.salon.id,
          clientId: parties.client.id,
          staffId: parties.staff.id,
          serviceId: parties.service.id,
          ...withEnd(startsAt, wanted, parties.service.minutes),
          state: 'booked',
          bookedAt: now,
          bookedById: actor.accountId,
          moves: 0,
          cancelledAt: null,
          notes: wanted.notes ?? '',
        } satisfies Partial<Appointment>);
        requireBookable(parties.salon.zone, startsAt, now, startField(wanted));
        await this.requireAllowed(manager, appointment, parties, wanted, now);
        await manager.insert(Appointment, appointment);
        await takeClaims(manager, appointment);
        await this.record(manager, actor, 'appointment.book', appointment, wanted.outsideRota === true);
        await this.effects.happened('booked', manager, appointment);
        return appointment;
      }),
    );
  }

  /**
   * Moves to another time, stylist, service or length; `input` is a MoveInput and what it leaves out stays. Only what is
   * booked moves: an arrival must be taken back first. A move to where it already is changes nothing.
   * Throws what `book` throws, BOOK.NOT_FOUND, BOOK.WRONG_STATE and BOOK.STALE.
   */
  async move(id: string, input: unknown, actor: Actor): Promise<Appointment> {
    const wanted = await validated(MoveInput, input);
    requireRightOutsideRota(wanted, actor);
    const now = this.clock.now();
    const asked = new Appointment();
    return await this.orNextFree(asked, () =>
      this.units.run(async (manager) => {
        const version = wanted.expectedVersion ?? undefined;
        const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT, version);
        requireStep(appointment.state, 'move');
        const { startsAt, endsAt, staffId, serviceId } = appointment;
        const before = { startsAt, endsAt, staffId, serviceId };
        const parties = await requireParties(
          manager,
          {
            clientId: appointment.clientId,
            staffId: wanted.staffId ?? staffId,
            serviceId: wanted.serviceId ?? serviceId,
          },
          serviceId,
        );
        const otherService = parties.service.id !== serviceId;
        const minutes = otherService ? parties.service.minutes : (endsAt - startsAt) / MINUTE_MS;
        const start = wantedStart(parties.salon.zone, wanted) ?? startsAt;
        Object.assign(appointment, {
          staffId: parties.staff.id,
          serviceId: parties.service.id,
          ...withEnd(start, wanted, minutes),
        });
        if (sameTime(appointment, before)) return appointment;
        Object.assign(asked, appointment);
        if (start !== startsAt) requireBookable(parties.salon.zone, start, now, startField(wanted));
        await this.requireAllowed(manager, appointment, parties, wanted, now);
        appointment.moves += 1;
        await takeClaims(manager, appointment);
        await manager.save(appointment);
        await this.record(manager, actor, 'appointment.move', appointment, wanted.outsideRota === true);
        await this.effects.moved(manager, appointment, before);
        return appointment;
      }),
    );
  }

  /** Gives the time free; the row stays. `input` is a CancelInput. Throws BOOK.WRONG_STATE, BOOK.STALE. */
  async cancel(id: string, input: unknown, actor: Actor): Promise<Appointment> {
    const { expectedVersion } = await validated(CancelInput, input ?? {});
    return await this.units.run(async (manager) => {
      const version = expectedVersion ?? undefined;
      const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT, version);
      requireStep(appointment.state, 'cancel');
      appointment.state = 'cancelled';
      appointment.cancelledAt = this.clock.now();
      await releaseClaims(manager, id);
      return await this.stepped(manager, actor, appointment, 'cancelled', 'appointment.cancel');
    });
  }

  /**
   * The client is here: on the day itself (BOOK.NOT_TODAY otherwise), and even after a no-show, as long as nobody else
   * was given the time meanwhile (BOOK.TAKEN).
   */
  async arrive(id: string, actor: Actor): Promise<Appointment> {
    return await this.units.run(async (manager) => {
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
      if (appointment.state === 'no-show') await takeClaims(manager, appointment);
      appointment.state = 'arrived';
      return await this.stepped(manager, actor, appointment, 'arrived', 'appointment.arrive');
    });
  }

  /** Takes back an arrival that was pressed by mistake. */
  async unArrive(id: string, actor: Actor): Promise<Appointment> {
    return await this.units.run(async (manager) => {
      const appointment = await loadForEdit(manager, Appointment, id, APPOINTMENT);
      requireStep(appointment.state, 'unArrive');
      appointment.state = 'booked';
      return await this.stepped(manager, actor, appointment, 'unArrived', 'appointment.un-arrive');
    });
  }

  /** The client did not come; once the start has passed (BOOK.TOO_EARLY before). Gives the time free. */
  async noShow(id: string, actor: Actor): Promise<Appointment> {
    return await this.units.run(async (manager) => {
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

  private async requireAllowed(
    manager: EntityManager,
    appointment: Appointment,
    { salon, staff, service, client }: Parties,
    wanted: WhenInput,
    now: number,
  ): Promise<void> {
    if (!wanted.outsideRota) await requireWorking(manager, salon, staff, appointment);
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

  /** Runs `work`; when the time of `asked` turns out to be taken, the refusal names the next free slots. */
  private async orNextFree<T>(asked: Appointment, work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      if (!(error instanceof DomainError) || error.code !== 'BOOK.TAKEN') throw error;
      const nextFree = await this.nextFree(asked).catch((problem: unknown) => {
        // A kept service that went off the list cannot be searched for; the refusal stands without a proposal.
        if (problem instanceof DomainError) return [];
        throw problem;
      });
      throw new DomainError(error.kind, error.code, error.message, error.fields, {
        ...error.details,
        nextFree,
      });
    }
  }

  /** From the start that was asked for on: with that stylist, or with anybody when she has none within a fortnight. */
  private async nextFree({ salonId, serviceId, staffId, startsAt, endsAt }: Appointment): Promise<Slot[]> {
    const { zone } = await this.salons.get(salonId);
    const fromDate = dateIn(zone, startsAt);
    const question = {
      salonId,
      serviceId,
      fromDate,
      toDate: addDays(fromDate, NEXT_FREE_DAYS),
      minutes: (endsAt - startsAt) / MINUTE_MS,
      limit: 1000,
    };
    const later = (slots: Slot[]) => slots.filter((slot) => slot.startsAt >= startsAt).slice(0, NEXT_FREE);
    const own = later(await this.slots.find({ ...question, staffId }));
    return own.length > 0 ? own : later(await this.slots.find(question));
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
