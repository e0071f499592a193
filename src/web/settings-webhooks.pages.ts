import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import {
  type DeliveryLine,
  EVENT_TYPES,
  type EventType,
  TEST_TYPE,
  type WebhookLine,
  Webhooks,
} from '../webhooks/index.js';
import { momentText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, type Setting } from './front.js';
import { counted, MESSAGE_STATE_WORDS, optionsOf } from './words.js';

const EVENT_WORDS: Record<EventType, string> = {
  'halfinch.appointment.booked': 'appointment booked',
  'halfinch.appointment.moved': 'appointment moved',
  'halfinch.appointment.cancelled': 'appointment cancelled',
  'halfinch.appointment.arrived': 'client arrived',
  'halfinch.appointment.completed': 'visit completed',
  'halfinch.appointment.missed': 'client did not come',
  'halfinch.client.added': 'client added',
  'halfinch.client.changed': 'client changed',
  'halfinch.client.erased': 'client erased',
  'halfinch.skin-test.placed': 'skin test placed',
  'halfinch.skin-test.read': 'skin test read',
  'halfinch.offer.accepted': 'waiting offer accepted',
  'halfinch.message.failed': 'message failed',
};
const GROUP = 'event';

type Values = Readonly<Record<string, string>>;

/** Which other programs are told what happens here: the owner's. */
@Needs('salon.write')
@Controller('settings/webhooks')
export class SettingsWebhooksPages {
  constructor(
    private readonly front: Front,
    private readonly webhooks: Webhooks,
  ) {}

  @Get()
  async all(@Called() call: Call): Promise<void> {
    await this.showAll(call, openForm());
  }

  /** The secret is shown on the answer itself: it can never be shown again. */
  @Post()
  async add(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      rename: ownField,
      again: (form) => this.showAll(call, form),
      work: async () => {
        const made = await this.webhooks.add(salon.id, inputOf(values), call.actor);
        await this.show(call.status(200), made.webhook, openForm(valuesOf(made.webhook)), made.secret);
      },
    });
  }

  @Get(':id')
  async one(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const webhook = await this.own(call, id);
    await this.show(call, webhook, openForm(valuesOf(webhook)));
  }

  @Post(':id')
  async change(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const webhook = await this.own(call, id);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      rename: ownField,
      again: (form) => this.show(call, webhook, form),
      work: async () => {
        const input = { ...inputOf(values), active: values['active'] === 'true' };
        const { active } = await this.webhooks.change(webhook.salonId, id, input, call.actor);
        leaveNotice(call, active ? 'Saved.' : 'Saved. It is told nothing while it is off.');
        await call.redirectTo(`/settings/webhooks/${id}`);
      },
    });
  }

  @Post(':id/secret')
  async secret(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { salonId } = await this.own(call, id);
    const secret = await this.webhooks.newSecret(salonId, id, call.actor);
    const webhook = await this.own(call, id);
    await this.show(call.status(200), webhook, openForm(valuesOf(webhook)), secret);
  }

  @Post(':id/test')
  async test(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { salonId } = await this.own(call, id);
    await this.webhooks.test(salonId, id, call.actor);
    leaveNotice(call, 'A test is on its way. Load this page again in a moment to see what became of it.');
    await call.redirectTo(`/settings/webhooks/${id}`);
  }

  @Post(':id/deliveries/:deliveryId/retry')
  async retry(
    @Called() call: Call,
    @Param('id') id: string,
    @Param('deliveryId') deliveryId: string,
  ): Promise<void> {
    const webhook = await this.own(call, id);
    await answerForm({
      call,
      values: {},
      again: (form) => this.show(call, webhook, { ...form, values: valuesOf(webhook) }),
      work: async () => {
        await this.webhooks.retry(webhook.salonId, id, deliveryId, call.actor);
        leaveNotice(call, 'It will be tried again now.');
        await call.redirectTo(`/settings/webhooks/${id}`);
      },
    });
  }

  @Post(':id/remove')
  async remove(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { salonId, url } = await this.own(call, id);
    await this.webhooks.remove(salonId, id, call.actor);
    leaveNotice(call, `${new URL(url).host} is told nothing more.`);
    await call.redirectTo('/settings/webhooks');
  }

  private async own(call: Call, id: string): Promise<WebhookLine> {
    const { salon } = await this.front.setting(call.principal);
    return await this.webhooks.get(salon.id, id);
  }

  private async showAll(call: Call, form: FormState): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const webhooks = await this.webhooks.of(setting.salon.id);
    await renderPage(call, 'settings-webhooks', {
      heading: 'Programs that are told',
      frontDesk: true,
      form,
      events: optionsOf(EVENT_WORDS),
      webhooks: webhooks.map((webhook) => ({
        ...webhook,
        host: new URL(webhook.url).host,
        count: counted(webhook.events.length, 'event'),
        ...standingOf(webhook, setting),
      })),
    });
  }

  private async show(call: Call, webhook: WebhookLine, form: FormState, secret?: string): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { id, salonId, url } = webhook;
    const deliveries = await this.webhooks.deliveries(salonId, id);
    await renderPage(call, 'settings-webhook', {
      heading: new URL(url).host,
      frontDesk: true,
      id,
      secret,
      form,
      events: optionsOf(EVENT_WORDS),
      ...standingOf(webhook, setting),
      deliveries: deliveries.map((delivery) => deliveryRow(delivery, setting)),
    });
  }
}

/** In words how it is with an address, and which sign stands for it. */
function standingOf(
  { active, gaveUpAt, failingSince }: WebhookLine,
  { salon, spoken }: Setting,
): { readonly state: string; readonly words: string } {
  const at = (instant: number) => momentText(instant, salon.zone, spoken);
  if (gaveUpAt !== null) return { state: 'failed', words: `given up ${at(gaveUpAt)}` };
  if (!active) return { state: 'withdrawn', words: 'off' };
  if (failingSince !== null) return { state: 'failed', words: `nothing arrives since ${at(failingSince)}` };
  return { state: 'sent', words: 'on' };
}

function deliveryRow(delivery: DeliveryLine, { salon, spoken }: Setting) {
  const { id, type, state, happenedAt, attempts, lastError } = delivery;
  return {
    id,
    what: type === TEST_TYPE ? 'test' : EVENT_WORDS[type],
    when: momentText(happenedAt, salon.zone, spoken),
    state,
    words: MESSAGE_STATE_WORDS[state],
    tries: attempts > 1 ? `${attempts} attempts` : '',
    lastError: state === 'sent' ? '' : lastError,
    retry: state === 'failed',
  };
}

function valuesOf({ url, events, active, version }: WebhookLine): Record<string, string> {
  return {
    url,
    expectedVersion: String(version),
    ...(active && { active: 'true' }),
    ...Object.fromEntries(events.map((type) => [`${GROUP}.${type}`, 'true'])),
  };
}

function inputOf(values: Values) {
  const { url, expectedVersion } = values;
  return {
    url,
    events: EVENT_TYPES.filter((type) => values[`${GROUP}.${type}`] === 'true'),
    ...(expectedVersion && { expectedVersion }),
  };
}

/** The box that a field of a refusal belongs to. */
function ownField(field: string): string {
  return field === 'events' ? `${GROUP}.${EVENT_TYPES[0]}` : field;
}
