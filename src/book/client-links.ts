import { Injectable, type OnModuleInit } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { addDays, Clock, DomainError, dateIn, timeIn, validated } from '../base/index.js';
import { Client } from '../clients/index.js';
import { asClient } from '../identity/index.js';
import { Salon, Staff } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { Book } from './book.js';
import { BookEffects } from './effects.js';
import { Appointment } from './entities.js';
import { notOffered } from './not-offered.js';
import { noticeEndsAt, requireNotice } from './notice.js';
import { issueLinks, openLink, PrivateLink } from './private-links.js';
import { sittingName } from './sitting-name.js';
import { type Slot, Slots } from './slots.js';
import { requireStep } from './states.js';
import { LinkMoveInput } from './waiting-dto.js';

const MINUTE_MS = 60_000;
/** Other times are looked for this many days around the one that was booked. */
const AROUND_DAYS = 14;
const SLOTS_SHOWN = 30;

const UNSEARCHABLE: readonly string[] = ['SLOTS.NO_SUCH_SERVICE', 'BOOK.STEPS_TOO_SHORT'];

/** What a client sees of her appointment: nothing of anybody else, no notes, no health. */
export type LinkedAppointment = {
  readonly appointmentId: string;
  readonly state: Appointment['state'];
  readonly clientName: string;
  readonly serviceName: string;
  readonly staffId: string;
  readonly staffName: string;
  readonly startsAt: number;
  readonly endsAt: number;
  /** Salon's local date and time of the start. */
  readonly date: string;
  readonly time: string;
  readonly confirmedAt: number | null;
  readonly salon: Pick<Salon, 'name' | 'address' | 'phone' | 'email' | 'zone' | 'locale'>;
  readonly may: { readonly confirm: boolean; readonly move: boolean; readonly cancel: boolean };
  /** Up to when she may move and cancel by herself. */
  readonly noticeEndsAt: number;
};

/**
 * The private link of one client to one appointment: she confirms, moves or cancels without an account. It opens until
 * the appointment has ended; every change is made as the client and is on the audit trail as hers.
 */
@Injectable()
export class ClientLinks implements OnModuleInit {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly book: Book,
    private readonly slotSearch: Slots,
    private readonly effects: BookEffects,
  ) {}

  /** A link lives as long as its appointment, wherever that is moved. */
  onModuleInit(): void {
    this.effects.register({
      moved: async (manager, { id, endsAt }) => {
        await manager.update(PrivateLink, { appointmentId: id, kind: 'appointment' }, { expiresAt: endsAt });
      },
    });
  }

  /** A new secret for the appointment's client, to be put into a message; earlier ones still open. */
  async issue(manager: EntityManager, appointment: Appointment): Promise<string> {
    const [token = ''] = await this.issueAll(manager, [appointment]);
    return token;
  }

  /** The same for several, in their order. */
  async issueAll(manager: EntityManager, appointments: readonly Appointment[]): Promise<string[]> {
    const wanted = appointments.map(({ id: appointmentId, clientId, endsAt }) => ({
      opens: { appointmentId, clientId },
      expiresAt: endsAt,
    }));
    return await issueLinks(manager, 'appointment', wanted, this.clock.now());
  }

  /** Throws LINK.NOT_VALID. */
  async resolve(token: unknown): Promise<LinkedAppointment> {
    return await this.view(this.reader.manager, await this.open(this.reader.manager, token));
  }

  /**
   * Times she may move to, the nearest to what was booked first and her stylist before others. Throws LINK.NOT_VALID,
   * LINK.TOO_LATE and BOOK.WRONG_STATE.
   */
  async slots(token: unknown): Promise<Slot[]> {
    const { manager } = this.reader;
    const appointment = await this.open(manager, token);
    const salon = await this.requireMovable(manager, appointment);
    const date = dateIn(salon.zone, appointment.startsAt);
    return await this.find(salon, appointment, addDays(date, -AROUND_DAYS), addDays(date, AROUND_DAYS));
  }

  /** She says that she comes; saying so twice is saying so. Throws LINK.NOT_VALID, BOOK.WRONG_STATE. */
  async confirm(token: unknown, address?: string): Promise<LinkedAppointment> {
    const { id } = await this.open(this.reader.manager, token);
    return await this.view(this.reader.manager, await this.book.confirm(id, asClient(address)));
  }

  /**
   * Moves to one of the free slots; `input` is a LinkMoveInput. Throws INPUT.INVALID, LINK.NOT_VALID, LINK.TOO_LATE,
   * LINK.NOT_OFFERED for a time that is no free slot, and what `Book.move` throws.
   */
  async move(token: unknown, input: unknown, address?: string): Promise<LinkedAppointment> {
    const { startsAt, staffId } = await validated(LinkMoveInput, input);
    const { manager } = this.reader;
    const before = await this.open(manager, token);
    const salon = await this.requireMovable(manager, before);
    const date = dateIn(salon.zone, startsAt);
    const wanted = { startsAt, staffId: staffId ?? before.staffId };
    const offered = await this.find(salon, before, date, date, 1000);
    if (!offered.some((slot) => slot.startsAt === startsAt && slot.staffId === wanted.staffId)) {
      throw notOffered(offered);
    }
    const moved = await this.book.change(async (unit) => {
      const appointment = await this.open(unit, token);
      requireNotice(salon, appointment.startsAt, this.clock.now());
      return await this.book.moveIn(unit, appointment.id, wanted, asClient(address));
    });
    return await this.view(this.reader.manager, moved);
  }

  /** Throws LINK.NOT_VALID, LINK.TOO_LATE within the salon's notice, and BOOK.WRONG_STATE. */
  async cancel(token: unknown, address?: string): Promise<LinkedAppointment> {
    const cancelled = await this.book.change(async (unit) => {
      const appointment = await this.open(unit, token);
      await this.requireMovable(unit, appointment);
      return await this.book.cancelIn(unit, appointment.id, asClient(address));
    });
    return await this.view(this.reader.manager, cancelled);
  }

  private async open(manager: EntityManager, token: unknown): Promise<Appointment> {
    const link = await openLink(manager, 'appointment', token, this.clock.now());
    return await manager.findOneByOrFail(Appointment, { id: link.appointmentId ?? '' });
  }

  private async requireMovable(manager: EntityManager, appointment: Appointment): Promise<Salon> {
    requireStep(appointment.state, 'move');
    const salon = await manager.findOneByOrFail(Salon, { id: appointment.salonId });
    requireNotice(salon, appointment.startsAt, this.clock.now());
    return salon;
  }

  /** Nothing when the service went off the list or takes longer by now: then only the salon can move it. */
  private async find(
    salon: Salon,
    { serviceId, alsoServiceIds, staffId, startsAt, endsAt }: Appointment,
    fromDate: string,
    toDate: string,
    limit = SLOTS_SHOWN,
  ): Promise<Slot[]> {
    const ask = {
      salonId: salon.id,
      serviceId,
      alsoServiceIds: alsoServiceIds ?? null,
      fromDate,
      toDate,
      nearDate: dateIn(salon.zone, startsAt),
      preferredStaffId: staffId,
      minutes: (endsAt - startsAt) / MINUTE_MS,
      limit,
    };
    return await this.slotSearch.find(ask).catch((error: unknown) => {
      if (error instanceof DomainError && UNSEARCHABLE.includes(error.code)) return [];
      throw error;
    });
  }

  private async view(manager: EntityManager, appointment: Appointment): Promise<LinkedAppointment> {
    const { salonId, clientId, staffId, state, startsAt, endsAt } = appointment;
    const salon = await manager.findOneByOrFail(Salon, { id: salonId });
    const client = await manager.findOneOrFail(Client, {
      select: { id: true, givenName: true, knownAs: true },
      where: { id: clientId },
    });
    const staff = await manager.findOneByOrFail(Staff, { id: staffId });
    const service = await sittingName(manager, appointment);
    const now = this.clock.now();
    const lastMoment = noticeEndsAt(salon, startsAt);
    const stands = state === 'booked';
    const { name, address, phone, email, zone, locale } = salon;
    return {
      appointmentId: appointment.id,
      state,
      clientName: client.knownAs ?? client.givenName,
      serviceName: service,
      staffId,
      staffName: staff.name,
      startsAt,
      endsAt,
      date: dateIn(zone, startsAt),
      time: timeIn(zone, startsAt),
      confirmedAt: appointment.confirmedAt ?? null,
      salon: { name, address, phone, email, zone, locale },
      may: {
        confirm: stands && typeof appointment.confirmedAt !== 'number',
        move: stands && now <= lastMoment,
        cancel: stands && now <= lastMoment,
      },
      noticeEndsAt: lastMoment,
    };
  }
}
