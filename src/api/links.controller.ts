import { Body, Controller, Get, Header, HttpCode, Param, Post, Req } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import type { FastifyRequest } from 'fastify';
import { ClientLinks, LinkMoveInput, WaitingOffers } from '../book/index.js';
import { Open } from '../http/index.js';
import { ApiPart, Takes } from './openapi.js';

/**
 * What a client's private link opens: whoever holds the secret is the client. Writes send it as the bearer token too,
 * as every write does that rides on no cookie.
 */
@ApiPart('private links')
@Open()
@Controller('api/v1')
export class LinksController {
  constructor(
    private readonly links: ClientLinks,
    private readonly offers: WaitingOffers,
  ) {}

  @Get('links/:token')
  @Header('Cache-Control', 'no-store')
  @ApiOperation({ summary: 'The appointment behind a private link' })
  async show(@Param('token') token: string) {
    return { appointment: await this.links.resolve(token) };
  }

  @Get('links/:token/slots')
  @Header('Cache-Control', 'no-store')
  @ApiOperation({ summary: 'Times she may move to' })
  async slots(@Param('token') token: string) {
    return { slots: await this.links.slots(token) };
  }

  @Post('links/:token/confirmation')
  @HttpCode(200)
  @ApiOperation({ summary: 'She comes' })
  async confirm(@Param('token') token: string, @Req() { ip }: FastifyRequest) {
    return { appointment: await this.links.confirm(token, ip) };
  }

  @Post('links/:token/move')
  @HttpCode(200)
  @ApiOperation({ summary: 'Move to one of the free times' })
  @Takes(LinkMoveInput)
  async move(@Param('token') token: string, @Body() body: unknown, @Req() { ip }: FastifyRequest) {
    return { appointment: await this.links.move(token, body, ip) };
  }

  @Post('links/:token/cancellation')
  @HttpCode(200)
  @ApiOperation({ summary: "Cancel, within the salon's notice" })
  async cancel(@Param('token') token: string, @Req() { ip }: FastifyRequest) {
    return { appointment: await this.links.cancel(token, ip) };
  }

  @Get('offer-links/:token')
  @Header('Cache-Control', 'no-store')
  @ApiOperation({ summary: 'A free time offered to one who waits' })
  async offer(@Param('token') token: string) {
    return { offer: await this.offers.resolve(token) };
  }

  @Post('offer-links/:token/acceptance')
  @ApiOperation({ summary: 'Take the offered time, if nobody was quicker' })
  async accept(@Param('token') token: string, @Req() { ip }: FastifyRequest) {
    const { id, startsAt, endsAt } = await this.offers.accept(token, ip);
    return { appointment: { id, startsAt, endsAt } };
  }

  @Post('offer-links/:token/refusal')
  @HttpCode(204)
  @ApiOperation({ summary: 'Leave it to others' })
  async decline(@Param('token') token: string): Promise<void> {
    await this.offers.decline(token);
  }
}
