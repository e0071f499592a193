import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { Checkout, NOT_NOW_REASONS, NotNows, type Suggestion } from '../rebooking/index.js';
import { SalonRules } from '../reminders/index.js';
import type { Service } from '../salon/index.js';
import { BookedAhead } from './booked-ahead.js';
import { windowView } from './card-view.js';
import { dayText, momentText } from './days.js';
import { NOT_NOW_WORDS } from './due-view.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { offeredSlots } from './slot-view.js';
import { nameOf, SERVICE_WORDS, ZONE_WORDS } from './words.js';

const REASONS = NOT_NOW_REASONS.map((value) => ({ value, label: NOT_NOW_WORDS[value] }));

/** The moment between the chair and the door: when to come back, for what, and three times to press. */
@Needs('book.write')
@Controller('clients/:id/rebook')
export class RebookPages {
  constructor(
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly checkout: Checkout,
    private readonly notNows: NotNows,
    private readonly ahead: BookedAhead,
    private readonly rules: SalonRules,
  ) {}

  @Get()
  async suggest(
    @Called() call: Call,
    @Param('id') id: string,
    @Query('staffId') staffId?: string,
    @Query('serviceId') serviceId?: string,
  ): Promise<void> {
    await this.show(call, id, openForm({ staffId: staffId ?? '' }), serviceId);
  }

  @Post('not-now')
  async notNow(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      call,
      values: { reason: '', ...values },
      again: (form) => this.show(call, id, form),
      work: async () => {
        const { askAgainOn } = await this.notNows.record(id, values, call.actor);
        const { spoken } = await this.front.setting(call.principal);
        const from = askAgainOn ? `, to be asked again from ${dayText(askAgainOn, spoken)}` : '';
        leaveNotice(call, `${nameOf(await this.clients.get(id))} is on the due list${from}.`);
        await call.redirectTo('/today');
      },
    });
  }

  private async show(call: Call, id: string, form: FormState, serviceId?: string): Promise<void> {
    const { salon, now, today, ruler, spoken } = await this.front.setting(call.principal);
    const client = await this.clients.get(id);
    const stylists = await this.front.stylists(salon.id);
    const staffId = stylists.find((one) => one.id === form.values['staffId'])?.id;
    const suggestion = await this.checkout.suggest(client.id, staffId, { serviceId });
    const [next] = await this.ahead.of(client.id, now);
    const services = await this.front.services(salon.id);
    const { reminderHours } = await this.rules.get(salon.id);
    await renderPage(call, 'rebook', {
      heading: `Next visit of ${nameOf(client)}`,
      frontDesk: true,
      client,
      name: nameOf(client),
      form,
      window: suggestion && windowView(suggestion.window, ruler, spoken),
      service: suggestion?.service,
      kind: suggestion && SERVICE_WORDS[suggestion.service.kind],
      enough: suggestion && enoughText(suggestion),
      choices: suggestion ? choicesOf(services, suggestion, staffId) : [],
      slots: suggestion ? offeredSlots(suggestion.slots, spoken) : [],
      currency: salon.currency,
      next: next && momentText(next.startsAt, salon.zone, spoken),
      nextId: next?.id,
      reminders: reminderHours.map((hours) => `${hours} h`).join(' and '),
      reasons: REASONS,
      today,
      scripts: ['visit-done'],
    });
  }
}

/** Why a tidy will do, or why it will not. */
function enoughText({ enough, window }: Suggestion): string {
  const zone = ZONE_WORDS[window.firstZone].toLowerCase();
  return enough.kind === 'tidy'
    ? `A tidy is enough: ${enough.name} takes in the ${zone}, which goes first.`
    : `A full cut: no tidy on offer takes in the ${zone}, which goes first.`;
}

/** Tidies and full cuts, each with its own free times; what is enough comes first. */
function choicesOf(services: readonly Service[], { service, enough }: Suggestion, staffId?: string) {
  const cuts = services.filter(
    ({ id, kind }) => id !== enough.id && (kind === 'tidy' || kind === 'full-cut'),
  );
  return [enough, ...cuts].map((one) => ({
    name: one.name,
    minutes: one.minutes,
    priceMinor: one.priceMinor,
    here: one.id === service.id,
    query: new URLSearchParams({ serviceId: one.id, ...(staffId && { staffId }) }).toString(),
  }));
}
