import { Body, Controller, Delete, Get, HttpCode, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { By, Needs, Who, WithoutKey } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { EVENT_TYPES, WebhookInput, Webhooks } from '../webhooks/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

/** Programs of the salon's own that are told what happens. */
@ApiPart('webhooks')
@Needs('salon.write')
@Controller('api/v1/webhooks')
export class WebhooksController {
  constructor(
    private readonly salons: Salons,
    private readonly webhooks: Webhooks,
  ) {}

  @Get()
  @ApiOperation({ summary: 'Who is told of what, and everything that one can be told of' })
  async list(@Who() who: Principal) {
    return { webhooks: await this.webhooks.of(await this.salonId(who)), events: EVENT_TYPES };
  }

  @Post()
  @WithoutKey()
  @ApiOperation({
    summary:
      'Tell an address of events: CloudEvents 1.0, signed as Standard Webhooks says; the secret is shown only now',
  })
  @Takes(WebhookInput)
  async add(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    return await this.webhooks.add(await this.salonId(who), body, actor);
  }

  @Get(':id')
  @ApiOperation({ summary: 'One of them' })
  async show(@Who() who: Principal, @Param('id') id: string) {
    return { webhook: await this.webhooks.get(await this.salonId(who), requireId(id, 'id')) };
  }

  @Post(':id/change')
  @HttpCode(200)
  @ApiOperation({
    summary: 'Change the address or the events, or switch it on or off; what is left out stays',
  })
  @Takes(WebhookInput)
  async change(@Who() who: Principal, @By() actor: Actor, @Param('id') id: string, @Body() body: unknown) {
    const webhook = await this.webhooks.change(await this.salonId(who), requireId(id, 'id'), body, actor);
    return { webhook };
  }

  @Post(':id/secret')
  @WithoutKey()
  @ApiOperation({ summary: 'A new secret, shown only now; the one before signs as well for a day' })
  async secret(@Who() who: Principal, @By() actor: Actor, @Param('id') id: string) {
    return { secret: await this.webhooks.newSecret(await this.salonId(who), requireId(id, 'id'), actor) };
  }

  @Post(':id/test')
  @ApiOperation({ summary: 'Send an event of no meaning, once' })
  async test(@Who() who: Principal, @By() actor: Actor, @Param('id') id: string) {
    return { delivery: await this.webhooks.test(await this.salonId(who), requireId(id, 'id'), actor) };
  }

  @Get(':id/deliveries')
  @ApiOperation({ summary: 'What was sent in the last seven days and what became of it, the newest first' })
  async deliveries(@Who() who: Principal, @Param('id') id: string) {
    return { deliveries: await this.webhooks.deliveries(await this.salonId(who), requireId(id, 'id')) };
  }

  @Post(':id/deliveries/:deliveryId/retry')
  @HttpCode(204)
  @ApiOperation({ summary: 'Try what failed again' })
  async retry(
    @Who() who: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
    @Param('deliveryId') deliveryId: string,
  ): Promise<void> {
    const [webhookId, ofIt] = [requireId(id, 'id'), requireId(deliveryId, 'deliveryId')];
    await this.webhooks.retry(await this.salonId(who), webhookId, ofIt, actor);
  }

  @Delete(':id')
  @HttpCode(204)
  @ApiOperation({ summary: 'Tell it nothing more' })
  async remove(@Who() who: Principal, @By() actor: Actor, @Param('id') id: string): Promise<void> {
    await this.webhooks.remove(await this.salonId(who), requireId(id, 'id'), actor);
  }

  private async salonId(who: Principal): Promise<string> {
    return (await this.salons.of(who)).id;
  }
}
