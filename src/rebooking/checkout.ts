import { Injectable } from '@nestjs/common';
import { type EntityManager, In } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, validated } from '../base/index.js';
import {
  Appointment,
  Book,
  combinedService,
  type Slot,
  Slots,
  serviceFor,
  servicesOf,
} from '../book/index.js';
import { Client } from '../clients/index.js';
import { HoldLimitRow, type Visit, VisitInput, Visits } from '../cuts/index.js';
import { EngineError } from '../engine/errors.js';
import { fitToWorkingDays, type WorkingWindow } from '../engine/plan/index.js';
import type { Actor } from '../identity/index.js';
import { Salon, Service } from '../salon/index.js';
import { Reader, UnitOfWork } from '../store/index.js';
import type { ShapeWindow } from './entities.js';
import { HoldMarks, withMovedLimits } from './hold-marks.js';
import { Windows } from './windows.js';
import { usualStaffId, workingDates } from './working-days.js';

/** What the desk needs to turn a finished visit into the next one. */
export type Suggestion = {
  readonly window: ShapeWindow;
  /** The one asked for, else `enough`. */
  readonly service: Service;
  /** The cheapest tidy that covers the zone that goes first, else a full cut. */
  readonly enough: Service;
  readonly slots: readonly Slot[];
  /** The window in the working days of her usual stylist; absent when none lies near it. */
  readonly working?: WorkingWindow & { readonly staffId: string };
};

const SLOTS_OFFERED = 3;
/** How far around the window working days are looked for, as the engine does. */
const DAYS_AROUND = 60;
/** Shapes whose window lies years ahead are not worth searching the book for. */
const FARTHEST_SEARCH_DAYS = 180;

@Injectable()
export class Checkout {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly visits: Visits,
    private readonly windows: Windows,
    private readonly book: Book,
    private readonly slots: Slots,
    private readonly marks: HoldMarks,
  ) {}

  /**
   * Closes the visit of a booked appointment: measurements, formula as cut, the appointment done, the window renewed,
   * all or nothing. `input` is a VisitInput without the parties, which the appointment names.
   */
  async complete(appointmentId: string, input: unknown, actor: Actor): Promise<Visit> {
    const appointment = await this.reader.manager.findOneBy(Appointment, { id: appointmentId });
    if (!appointment) throw DomainError.notFound('BOOK.NOT_FOUND', 'appointment');
    const { clientId, staffId, serviceId } = appointment;
    const given = typeof input === 'object' && input !== null ? input : {};
    const priceMinor = await this.priceOf(appointment);
    const usual = { staffId, serviceId, ...(priceMinor !== undefined && { priceMinor }) };
    const visit = await validated(VisitInput, { ...usual, ...given, clientId, appointmentId });
    return await this.units.run(async (manager) => {
      await this.book.markDone(manager, appointmentId, actor);
      return await this.closeIn(manager, visit, actor, appointment.startsAt);
    });
  }

  /** Of a sitting of several services; undefined for one, whose price the visit knows. */
  private async priceOf(appointment: Appointment): Promise<number | undefined> {
    const ids = servicesOf(appointment);
    if (ids.length === 1) return undefined;
    const services = await this.reader.manager.findBy(Service, { id: In(ids) });
    return combinedService(services).priceMinor;
  }

  /** Closes a visit that was not booked. */
  async walkIn(input: unknown, actor: Actor): Promise<Visit> {
    const visit = await validated(VisitInput, input);
    return await this.units.run((manager) => this.closeIn(manager, visit, actor));
  }

  private async closeIn(
    manager: EntityManager,
    input: VisitInput,
    actor: Actor,
    startedAt?: number,
  ): Promise<Visit> {
    const { marks = [], measurements = [] } = input;
    const moved =
      marks.length === 0
        ? []
        : await this.marks.learn(
            manager,
            input.clientId,
            marks,
            measurements,
            input.visitOn ?? (await this.todayOf(manager, input.clientId)),
          );
    if (input.formula) {
      input.formula.limits = withMovedLimits(input.formula.limits ?? [], moved);
    } else {
      for (const { row, value, sd } of moved)
        await manager.update(HoldLimitRow, { id: row.id }, { value, sd });
    }
    const visit = await this.visits.close(manager, input, actor, startedAt);
    const window = await this.windows.refresh(manager, visit.clientId);
    if (!window) return visit;
    visit.suggestedEarliestOn = window.earliestOn;
    visit.suggestedDueOn = window.dueOn;
    visit.suggestedLatestOn = window.latestOn;
    return await manager.save(visit);
  }

  private async todayOf(manager: EntityManager, clientId: string): Promise<string> {
    const client = await manager.findOneBy(Client, { id: clientId });
    const salon = client && (await manager.findOneBy(Salon, { id: client.salonId }));
    return dateIn(salon?.zone ?? 'UTC', this.clock.now());
  }

  /**
   * The next visit for a client: what, when and why, with the best free slots; undefined without a window. `serviceId`
   * asks for another service than the one that is enough; an unknown one is not heard.
   */
  async suggest(
    clientId: string,
    staffId?: string,
    { serviceId, limit = SLOTS_OFFERED }: { serviceId?: string | undefined; limit?: number } = {},
  ): Promise<Suggestion | undefined> {
    const { manager } = this.reader;
    const window = await this.windows.of(manager, clientId);
    if (!window) return undefined;
    const client = await manager.findOneByOrFail(Client, { id: clientId });
    const salon = await manager.findOneByOrFail(Salon, { id: client.salonId });
    const services = await manager.findBy(Service, { salonId: salon.id, active: true });
    const enough = serviceFor(services, [window.firstZone]);
    if (!enough) return undefined;
    const service = services.find(({ id }) => id === serviceId) ?? enough;
    const today = dateIn(salon.zone, this.clock.now());
    const from = window.earliestOn > today ? window.earliestOn : today;
    const horizon = addDays(today, FARTHEST_SEARCH_DAYS);
    const usual = staffId ?? (await usualStaffId(manager, client));
    const working = usual && (await this.workingWindow(manager, salon, usual, window, today));
    const found = { window, service, enough, ...(working && { working: { ...working, staffId: usual } }) };
    if (from > horizon) return { ...found, slots: [] };
    // A window that has passed, or is about to, still deserves the next fortnight.
    const to = [window.latestOn, addDays(from, 14)].sort().at(-1) as string;
    const slots = await this.slots.find({
      salonId: salon.id,
      serviceId: service.id,
      fromDate: from,
      toDate: to < horizon ? to : horizon,
      nearDate: window.dueOn > from ? window.dueOn : from,
      windowFrom: window.earliestOn,
      windowTo: window.latestOn,
      ...(usual && { preferredStaffId: usual }),
      limit,
    });
    return { ...found, slots };
  }

  private async workingWindow(
    manager: EntityManager,
    salon: Salon,
    staffId: string,
    window: ShapeWindow,
    today: string,
  ): Promise<WorkingWindow | undefined> {
    // A window that has passed is past: the days looked at start with today.
    const open = window.latestOn < today ? { earliestOn: today, dueOn: today, latestOn: today } : window;
    const dates = await workingDates(
      manager,
      salon,
      staffId,
      addDays(open.earliestOn, -DAYS_AROUND),
      addDays(open.latestOn, DAYS_AROUND),
    );
    try {
      return fitToWorkingDays(open, (date) => dates.has(date), today);
    } catch (error) {
      if (error instanceof EngineError) return undefined;
      throw error;
    }
  }
}
