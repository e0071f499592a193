import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Appointment, Book } from '../book/index.js';
import { Clients } from '../clients/index.js';
import { drawUnrecorded, FormulaInput, headOptions } from '../cuts/index.js';
import { VIEWS } from '../engine/shape/index.js';
import { By, HasVersion, Needs, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Series, SeriesSkipInput } from '../rebooking/index.js';
import { HoldOutInput, HoldOuts } from '../reports/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

/** Smaller steps of the day: looking at one appointment, taking an arrival back, leaving out a visit of a series. */
@ApiPart('book')
@Needs('book.write')
@Controller('api/v1')
export class AppointmentsController {
  constructor(
    private readonly book: Book,
    private readonly series: Series,
  ) {}

  @Get('appointments/:id')
  @HasVersion('appointment', Appointment)
  @Needs('book.read')
  @ApiOperation({ summary: 'One appointment' })
  async show(@Param('id') id: string) {
    return { appointment: await this.book.get(requireId(id, 'id')) };
  }

  @Delete('appointments/:id/arrival')
  @HasVersion('appointment', Appointment)
  @ApiOperation({ summary: 'Take back an arrival that was noted by mistake' })
  async unArrive(@Param('id') id: string, @By() actor: Actor) {
    return { appointment: await this.book.unArrive(requireId(id, 'id'), actor) };
  }

  @Post('series/:id/skip')
  @HttpCode(200)
  @ApiOperation({ summary: 'Leave out one visit of a series; the others stay' })
  @Takes(SeriesSkipInput)
  async skip(@Param('id') id: string, @By() actor: Actor, @Body() body: unknown) {
    return { appointment: await this.series.skip(requireId(id, 'id'), body, actor) };
  }
}

@ApiPart('shape')
@Needs('cut.write')
@Controller('api/v1')
export class DrawingsController {
  constructor(private readonly clients: Clients) {}

  @Post('clients/:id/drawings')
  @HttpCode(200)
  @ApiOperation({
    summary: "A formula that nobody recorded yet on a client's head: SVG from every side, or why not",
  })
  @Takes(FormulaInput)
  async draw(@Param('id') id: string, @Body() body: unknown) {
    const client = await this.clients.get(requireId(id, 'id'));
    return await drawUnrecorded(headOptions(client), body, VIEWS);
  }
}

@ApiPart('reports')
@Needs('report.write')
@Controller('api/v1/reports')
export class HoldOutController {
  constructor(
    private readonly holdOuts: HoldOuts,
    private readonly salons: Salons,
  ) {}

  @Get('hold-out')
  @Needs('report.read')
  @ApiOperation({
    summary: 'The share of clients left without invitations, so that their effect can be told',
  })
  async show(@Who() who: Principal) {
    const { id } = await this.salons.of(who);
    return { holdOut: (await this.holdOuts.of(id)) ?? null };
  }

  @Put('hold-out')
  @ApiOperation({ summary: 'Set that share; a change starts the count anew' })
  @Takes(HoldOutInput)
  async set(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    const { id } = await this.salons.of(who);
    return { holdOut: await this.holdOuts.set(id, body, actor) };
  }
}
