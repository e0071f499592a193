import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Clients, ConsentDto } from '../clients/index.js';
import { By, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

/** What stands beside a client's card: notes that bear on health, and her answers about messages. */
@ApiPart('clients')
@Controller('api/v1/clients')
export class ClientNotesController {
  constructor(private readonly clients: Clients) {}

  @Get(':id/health-notes')
  @Needs('client.health')
  @ApiOperation({ summary: 'Notes that bear on health; looking at them is audited' })
  async healthNotes(@Param('id') id: string, @By() actor: Actor) {
    return { healthNotes: await this.clients.healthNotes(requireId(id, 'id'), actor) };
  }

  @Post(':id/consents')
  @Needs('client.write')
  @ApiOperation({ summary: 'Record an answer about messages; earlier ones stay on record' })
  @Takes(ConsentDto)
  async answer(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { consent: await this.clients.setConsent(requireId(id, 'id'), body, actor) };
  }
}
