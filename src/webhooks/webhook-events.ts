import { Injectable, type OnModuleInit } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock } from '../base/index.js';
import { type Appointment, BookEffects, WaitingEffects } from '../book/index.js';
import { ClientEffects } from '../clients/index.js';
import { MessageEffects } from '../reminders/index.js';
import { SkinTestEffects } from '../skin-tests/index.js';
import { newId } from '../store/index.js';
import { Webhook, WebhookDelivery } from './entities.js';
import type { EventData, EventType } from './event-types.js';

const INSERTED_TOGETHER = 100;

type Happened = {
  readonly type: EventType;
  readonly subject: string;
  readonly clientId: string | null;
  readonly data: EventData;
};

/** Owes word of what happens to whoever wants it, in the very transaction in which it happens: both are there, or neither. */
@Injectable()
export class WebhookEvents implements OnModuleInit {
  constructor(
    private readonly clock: Clock,
    private readonly book: BookEffects,
    private readonly waiting: WaitingEffects,
    private readonly clients: ClientEffects,
    private readonly skinTests: SkinTestEffects,
    private readonly messages: MessageEffects,
  ) {}

  onModuleInit(): void {
    const appointment =
      (type: EventType) =>
      async (manager: EntityManager, one: Appointment): Promise<void> =>
        await this.owe(manager, one.salonId, [ofAppointment(type, one)]);
    this.book.register({
      booked: appointment('halfinch.appointment.booked'),
      cancelled: appointment('halfinch.appointment.cancelled'),
      arrived: appointment('halfinch.appointment.arrived'),
      done: appointment('halfinch.appointment.completed'),
      noShow: appointment('halfinch.appointment.missed'),
      moved: async (manager, one, before) => {
        const { data, ...event } = ofAppointment('halfinch.appointment.moved', one);
        const { startsAt, endsAt, staffId } = before;
        const was = { formerStartsAt: startsAt, formerEndsAt: endsAt, formerStaffId: staffId };
        await this.owe(manager, one.salonId, [{ ...event, data: { ...data, ...was } }]);
      },
    });
    this.waiting.register({
      accepted: (manager, { id, salonId, clientId }, { id: appointmentId, startsAt, endsAt }) =>
        this.owe(manager, salonId, [
          {
            type: 'halfinch.offer.accepted',
            subject: `offers/${id}`,
            clientId,
            data: { salonId, offerId: id, clientId, appointmentId, startsAt, endsAt },
          },
        ]),
    });
    this.clients.register({
      added: (manager, clients) => this.oweOfClients(manager, 'halfinch.client.added', clients),
      changed: (manager, client) => this.oweOfClients(manager, 'halfinch.client.changed', [client]),
      erased: (manager, client) => this.oweOfClients(manager, 'halfinch.client.erased', [client]),
    });
    this.skinTests.register({
      placed: (manager, { id, clientId, appliedAt }, salonId) =>
        this.owe(manager, salonId, [
          {
            type: 'halfinch.skin-test.placed',
            subject: `skin-tests/${id}`,
            clientId,
            data: { salonId, skinTestId: id, clientId, appliedAt },
          },
        ]),
      // That there is a result, never which.
      read: (manager, { id, clientId, readAt }, salonId) =>
        this.owe(manager, salonId, [
          {
            type: 'halfinch.skin-test.read',
            subject: `skin-tests/${id}`,
            clientId,
            data: { salonId, skinTestId: id, clientId, readAt },
          },
        ]),
    });
    this.messages.register({
      failed: (manager, { id, salonId, clientId, appointmentId }) =>
        this.owe(manager, salonId, [
          {
            type: 'halfinch.message.failed',
            subject: `messages/${id}`,
            clientId,
            data: { salonId, messageId: id, clientId, appointmentId },
          },
        ]),
    });
  }

  private async oweOfClients(
    manager: EntityManager,
    type: EventType,
    clients: readonly { readonly id: string; readonly salonId: string }[],
  ): Promise<void> {
    const [first] = clients;
    if (!first) return;
    const { salonId } = first;
    const happened = clients.map(({ id }) => ({
      type,
      subject: `clients/${id}`,
      clientId: id,
      data: { salonId, clientId: id },
    }));
    await this.owe(manager, salonId, happened);
  }

  /** A delivery for every address that wants to hear of it; of one salon. */
  private async owe(manager: EntityManager, salonId: string, happened: readonly Happened[]): Promise<void> {
    const webhooks = await manager.findBy(Webhook, { salonId, active: true });
    if (webhooks.length === 0) return;
    const now = this.clock.now();
    const rows = happened.flatMap((event) => {
      const eventId = newId();
      return webhooks
        .filter(({ events }) => events.includes(event.type))
        .map(({ id }) => owedTo(id, { ...event, eventId }, now));
    });
    for (let i = 0; i < rows.length; i += INSERTED_TOGETHER) {
      await manager.insert(WebhookDelivery, rows.slice(i, i + INSERTED_TOGETHER));
    }
  }
}

/** A delivery that is due at once. */
export function owedTo(
  webhookId: string,
  event: Pick<WebhookDelivery, 'eventId' | 'type' | 'subject' | 'clientId' | 'data'>,
  now: number,
): WebhookDelivery {
  return Object.assign(new WebhookDelivery(), {
    ...event,
    webhookId,
    happenedAt: now,
    dueAt: now,
    state: 'owed',
    attempts: 0,
    notBefore: null,
    leaseId: null,
    sentAt: null,
    lastStatus: null,
    lastError: null,
  });
}

function ofAppointment(type: EventType, one: Appointment): Happened {
  const { id, salonId, clientId, staffId, serviceId, startsAt, endsAt } = one;
  return {
    type,
    subject: `appointments/${id}`,
    clientId,
    data: { salonId, appointmentId: id, clientId, staffId, serviceId, startsAt, endsAt },
  };
}
