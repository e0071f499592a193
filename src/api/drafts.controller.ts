import { Body, Controller, Delete, Get, HttpCode, Put, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Drafts } from '../cuts/index.js';
import { By, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { ApiPart, Asks } from './openapi.js';

@ApiPart('drafts')
@Needs('cut.write')
@Controller('api/v1/drafts')
export class DraftsController {
  constructor(private readonly drafts: Drafts) {}

  @Get()
  @Asks('clientId', 'appointmentId', 'staffId')
  @ApiOperation({
    summary: 'The draft of a visit (clientId with appointmentId or staffId), and what was set aside',
  })
  async get(@Query() key: unknown) {
    return await this.drafts.get(key);
  }

  @Put()
  @ApiOperation({
    summary:
      'Save a draft over the version that was read; 409 carries both versions where somebody saved since',
  })
  async save(@Body() sent: unknown, @By() actor: Actor) {
    const given = typeof sent === 'object' && sent !== null ? (sent as Record<string, unknown>) : {};
    const { body, expectedVersion, ...key } = given;
    return { draft: await this.drafts.save(key, body, expectedVersion, actor) };
  }

  @Delete()
  @Asks('clientId', 'appointmentId', 'staffId')
  @HttpCode(204)
  @ApiOperation({ summary: 'Throw a draft away, with all that was set aside' })
  async drop(@Query() key: unknown, @By() actor: Actor): Promise<void> {
    await this.drafts.drop(key, actor);
  }
}
