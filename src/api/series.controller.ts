import { Body, Controller, Delete, Get, HttpCode, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Clients } from '../clients/index.js';
import { By, HasVersions, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import {
  NotNowInput,
  NotNows,
  Series,
  SeriesChangeInput,
  SeriesInput,
  SeriesProposals,
  SeriesWishInput,
  type WholeSeries,
  wholeSeries,
} from '../rebooking/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

const PARTS = ({ series, appointments }: WholeSeries) => [series, ...appointments];

@ApiPart('series')
@Needs('book.write')
@Controller('api/v1')
export class SeriesController {
  constructor(
    private readonly clients: Clients,
    private readonly series: Series,
    private readonly proposals: SeriesProposals,
    private readonly notNows: NotNows,
  ) {}

  @Post('clients/:id/series-proposal')
  @HttpCode(200)
  @ApiOperation({ summary: 'The plan of tidies and full cuts with a free time for every visit' })
  @Takes(SeriesWishInput)
  async propose(@Param('id') id: string, @Body() body: unknown) {
    return { proposal: await this.proposals.of(requireId(id, 'id'), body ?? {}) };
  }

  @Get('clients/:id/series')
  @Needs('book.read')
  @ApiOperation({ summary: 'Series of a client, newest first' })
  async ofClient(@Param('id') id: string) {
    const client = await this.clients.get(requireId(id, 'id'));
    return { series: await this.series.of(client.id) };
  }

  @Post('series')
  @ApiOperation({ summary: 'Book a series: all visits, or none' })
  @Takes(SeriesInput)
  async add(@Body() body: unknown, @By() actor: Actor) {
    return await this.series.add(body, actor);
  }

  @Get('series/:id')
  @HasVersions(PARTS, wholeSeries)
  @Needs('book.read')
  @ApiOperation({ summary: 'A series with its appointments' })
  async show(@Param('id') id: string) {
    return await this.series.get(requireId(id, 'id'));
  }

  @Post('series/:id/change')
  @HasVersions(PARTS, wholeSeries)
  @HttpCode(200)
  @ApiOperation({ summary: 'Move all visits still ahead: all, or none' })
  @Takes(SeriesChangeInput)
  async change(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return await this.series.change(requireId(id, 'id'), body ?? {}, actor);
  }

  @Delete('series/:id')
  @HasVersions(PARTS, wholeSeries)
  @ApiOperation({ summary: 'Cancel all visits still ahead' })
  async drop(@Param('id') id: string, @By() actor: Actor) {
    return await this.series.drop(requireId(id, 'id'), actor);
  }

  @Post('clients/:id/not-now')
  @ApiOperation({ summary: 'Why she leaves without her next appointment' })
  @Takes(NotNowInput)
  async notNow(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { notNow: await this.notNows.record(requireId(id, 'id'), body, actor) };
  }
}
