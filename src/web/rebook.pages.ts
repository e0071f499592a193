import { Body, Controller, Get, Param, Post, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Clients } from '../clients/index.js';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
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
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
    @Query('staffId') staffId?: string,
    @Query('serviceId') serviceId?: string,
  ): Promise<void> {
    await this.show(request, reply, principal, id, openForm({ staffId: staffId ?? '' }), serviceId);
  }

  @Post('not-now')
  async notNow(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
    @Body() body: unknown,
  ): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      reply,
      values: { reason: '', ...values },
      again: (form) => this.show(request, reply, principal, id, form),
      work: async () => {
        const { askAgainOn } = await this.notNows.record(id, values, actor);
        const { spoken } = await this.front.setting(principal);
        const from = askAgainOn ? `, to be asked again from ${dayText(askAgainOn, spoken)}` : '';
        leaveNotice(request, reply, `${nameOf(await this.clients.get(id))} is on the due list${from}.`);
        await reply.redirect('/today', 303);
      },
    });
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    id: string,
    form: FormState,
    serviceId?: string,
  ): Promise<void> {
    const { salon, now, today, ruler, spoken } = await this.front.setting(principal);
    const client = await this.clients.get(id);
    const stylists = await this.front.stylists(salon.id);
    const staffId = stylists.find((one) => one.id === form.values['staffId'])?.id;
    const suggestion = await this.checkout.suggest(client.id, staffId, { serviceId });
    const [next] = await this.ahead.of(client.id, now);
    const services = await this.front.services(salon.id);
    const { reminderHours } = await this.rules.get(salon.id);
    await renderPage(request, reply, 'rebook', {
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
