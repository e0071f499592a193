import { Controller, Get, Param, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Clients } from '../clients/index.js';
import { Needs, renderPage, Who } from '../http/index.js';
import { may, type Principal } from '../identity/index.js';
import { Checkout } from '../rebooking/index.js';
import { BookedAhead } from './booked-ahead.js';
import { windowView } from './card-view.js';
import { momentText } from './days.js';
import { Front } from './front.js';
import { offeredSlots } from './slot-view.js';
import { nameOf, SERVICE_WORDS, ZONE_WORDS } from './words.js';

/** The moment between the chair and the door: when to come back, for what, and three times to press. */
@Controller('clients/:id/rebook')
export class RebookPages {
  constructor(
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly checkout: Checkout,
    private readonly ahead: BookedAhead,
  ) {}

  @Needs('book.write')
  @Get()
  async suggest(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
    @Query('staffId') asked?: string,
  ): Promise<void> {
    const { salon, now, ruler, spoken } = await this.front.setting(principal);
    const client = await this.clients.get(id);
    const stylists = await this.front.stylists(salon.id);
    const staffId = stylists.find((one) => one.id === asked)?.id;
    const suggestion = await this.checkout.suggest(client.id, staffId);
    const [next] = await this.ahead.of(client.id, now);
    const full = (await this.front.services(salon.id)).find(({ kind }) => kind === 'full-cut');
    await renderPage(request, reply, 'rebook', {
      heading: `Next visit of ${nameOf(client)}`,
      client,
      name: nameOf(client),
      window: suggestion && windowView(suggestion.window, ruler, spoken),
      service: suggestion?.service,
      kind: suggestion && SERVICE_WORDS[suggestion.service.kind],
      zones: suggestion?.service.zones.map((zone) => ZONE_WORDS[zone].toLowerCase()).join(', '),
      tidy: suggestion?.service.kind === 'tidy',
      full,
      slots: suggestion ? offeredSlots(suggestion.slots, spoken) : [],
      currency: salon.currency,
      next: next && momentText(next.startsAt, salon.zone, spoken),
      nextId: next?.id,
      due: suggestion && may(principal.role, 'book.read'),
      scripts: ['visit-done'],
    });
  }
}
