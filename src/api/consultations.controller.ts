import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { ConsultationDto, Consultations } from '../consultations/index.js';
import { By, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

@ApiPart('consultations')
@Needs('cut.read')
@Controller('api/v1')
export class ConsultationsController {
  constructor(private readonly consultations: Consultations) {}

  @Get('clients/:id/consultations')
  @ApiOperation({ summary: "A client's consultations without their health part, newest first; her consents" })
  async list(@Param('id') id: string) {
    const clientId = requireId(id, 'id');
    const consultations = await this.consultations.ofClient(clientId);
    return { consultations, consents: await this.consultations.consents(clientId) };
  }

  @Post('clients/:id/consultations')
  @Needs('cut.write')
  @ApiOperation({ summary: 'Record a consultation; what it finds on the scalp may close the colour gate' })
  @Takes(ConsultationDto)
  async record(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    const given = typeof body === 'object' && body !== null ? body : {};
    return await this.consultations.record({ ...given, clientId: requireId(id, 'id') }, actor);
  }

  @Get('consultations/:id/health')
  @Needs('client.health')
  @ApiOperation({ summary: 'The health part of a consultation; every look goes on the audit trail' })
  async health(@Param('id') id: string, @By() actor: Actor) {
    return { health: await this.consultations.health(requireId(id, 'id'), actor) };
  }
}
