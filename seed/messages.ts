import type { Appointment } from '../src/book/index.js';
import type { Message, MessageKind, MessageReason, MessageState } from '../src/reminders/index.js';
import { reminderTime } from '../src/reminders/reminder-time.js';
import { MessageTemplates, messageTemplatesDir } from '../src/reminders/templates.js';
import type { Calendar } from './calendar.js';
import type { Dice } from './dice.js';
import type { Rows } from './rows.js';
import type { DemoSalon } from './salon.js';

/** Older appointments have no messages: the page of messages is about now. */
const KEPT_DAYS = 60;
const DAY_MS = 86_400_000;
const FAILS = 0.008;
const GIVE_UP_ATTEMPTS = 8;

type Owed = {
  readonly kind: MessageKind;
  readonly key: string;
  readonly owedSince: number;
  readonly dueAt: number;
};

/** What the salon's own code would have owed for these appointments, and what of it has gone out by now. */
export class Letters {
  private readonly templates = new MessageTemplates(messageTemplatesDir());
  private readonly refused = new Set<string>();
  private readonly clients: ReadonlyMap<string, Rows['clients'][number]>;

  constructor(
    private readonly rows: Rows,
    private readonly calendar: Calendar,
    private readonly shop: DemoSalon,
    private readonly dice: Dice,
  ) {
    this.clients = new Map(rows.clients.map((client) => [client.id, client]));
    for (const { clientId, purpose, given } of rows.consents) {
      if (purpose === 'appointment' && !given) this.refused.add(clientId);
    }
  }

  writeAll(): void {
    const since = this.calendar.now - KEPT_DAYS * DAY_MS;
    for (const appointment of this.rows.appointments) {
      if (appointment.startsAt < since) continue;
      for (const owed of this.owedFor(appointment)) this.write(appointment, owed);
    }
  }

  private owedFor({ startsAt, bookedAt, moves, cancelledAt }: Appointment): Owed[] {
    const { zone, reminderHours: hoursBefore } = this.shop.salon;
    const confirmation: Owed = {
      kind: 'appointment-confirmation',
      key: '0',
      owedSince: bookedAt,
      dueAt: bookedAt,
    };
    const dueAt = reminderTime({ startsAt, hoursBefore, zone }, bookedAt);
    const owed = [confirmation];
    if (dueAt !== undefined) {
      owed.push({ kind: 'appointment-reminder', key: `${moves}:${hoursBefore}`, owedSince: bookedAt, dueAt });
    }
    if (cancelledAt !== null) {
      owed.push({ kind: 'appointment-cancellation', key: '0', owedSince: cancelledAt, dueAt: cancelledAt });
    }
    return owed;
  }

  private write(appointment: Appointment, { kind, key, owedSince, dueAt }: Owed): void {
    const { dice } = this;
    const email = this.clients.get(appointment.clientId)?.email ?? null;
    const address = this.refused.has(appointment.clientId) ? null : email;
    const { state, reason } = this.outcome(appointment, kind, dueAt, address, email);
    const letter = state === 'sent' ? this.letter(kind, appointment) : undefined;
    const message: Message = {
      id: dice.id(owedSince),
      dedupeKey: `${kind}:${appointment.id}:${key}`,
      salonId: appointment.salonId,
      clientId: appointment.clientId,
      appointmentId: appointment.id,
      aboutId: null,
      runId: null,
      kind,
      channel: 'mail',
      address,
      owedSince,
      dueAt,
      state,
      reason,
      attempts: state === 'failed' ? GIVE_UP_ATTEMPTS : state === 'sent' ? 1 : 0,
      notBefore: null,
      leaseId: null,
      sentAt: state === 'sent' ? Math.min(dueAt + dice.whole(200, 4000), this.calendar.now) : null,
      sentBy: state === 'sent' ? 'outbox' : null,
      lastError: state === 'failed' ? '550 5.1.1 The address is not known here.' : null,
      subject: letter?.subject ?? null,
      body: letter?.text ?? null,
      language: letter?.language ?? null,
      template: letter?.template ?? null,
      segments: null,
      round: 0,
    };
    this.rows.messages.push(message);
  }

  private outcome(
    { cancelledAt, startsAt, state }: Appointment,
    kind: MessageKind,
    dueAt: number,
    address: string | null,
    email: string | null,
  ): { state: MessageState; reason: MessageReason | null } {
    const { now } = this.calendar;
    const callsBack = cancelledAt !== null && kind === 'appointment-reminder' && cancelledAt <= dueAt;
    if (callsBack) return { state: 'withdrawn', reason: 'cancelled' };
    if (address === null) return { state: 'unreachable', reason: email === null ? 'no-address' : 'refused' };
    if (dueAt > now)
      return state === 'booked' ? { state: 'owed', reason: null } : { state: 'withdrawn', reason: 'over' };
    if (startsAt < now && this.dice.chance(FAILS)) return { state: 'failed', reason: null };
    return { state: 'sent', reason: null };
  }

  private letter(kind: MessageKind, { clientId, staffId, serviceId, startsAt, endsAt }: Appointment) {
    const { salon, stylists, services } = this.shop;
    const client = this.clients.get(clientId);
    const facts = {
      clientName: client?.knownAs ?? client?.givenName ?? '',
      salonName: salon.name,
      salonAddress: salon.address,
      salonPhone: salon.phone,
      serviceName: Object.values(services).find(({ id }) => id === serviceId)?.name ?? '',
      stylistName: stylists.find(({ staff }) => staff.id === staffId)?.staff.name ?? '',
      startsAt,
      endsAt,
      zone: salon.zone,
      locale: salon.locale,
    };
    return this.templates.render(kind, facts);
  }
}
