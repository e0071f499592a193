import { Body, Controller, Get, Param, Post, Put, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Clock, DomainError, dateIn, validated } from '../base/index.js';
import { ClientChangeDto, Clients, NewClientDto } from '../clients/index.js';
import { GrowthAdjustedFormulas, Visits } from '../cuts/index.js';
import { By, Needs, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Checkout } from '../rebooking/index.js';
import { Salons } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { ApiPart, Takes } from './openapi.js';
import { countParam, dateParam, requireId, SearchQuery } from './params.js';

@ApiPart('clients')
@Needs('client.read')
@Controller('api/v1/clients')
export class ClientsController {
  constructor(
    private readonly clients: Clients,
    private readonly salons: Salons,
    private readonly visits: Visits,
    private readonly formulas: GrowthAdjustedFormulas,
    private readonly checkout: Checkout,
    private readonly reader: Reader,
    private readonly clock: Clock,
  ) {}

  @Get()
  @ApiOperation({ summary: 'Find clients by name or phone' })
  async search(@Who() who: Principal, @Query() query: unknown) {
    const { search, limit } = await validated(SearchQuery, query);
    const salon = await this.salons.of(who);
    return {
      clients: await this.clients.search(salon.id, search ?? '', countParam(limit, 'limit', 20, 100)),
    };
  }

  @Post()
  @Needs('client.write')
  @ApiOperation({ summary: 'Add a client' })
  @Takes(NewClientDto)
  async add(@Who() who: Principal, @Body() body: unknown, @By() actor: Actor) {
    const salon = await this.salons.of(who);
    const given = typeof body === 'object' && body !== null ? body : {};
    return await this.clients.add({ salonId: salon.id, ...given }, actor);
  }

  @Get(':id')
  @ApiOperation({ summary: 'One client' })
  async get(@Param('id') id: string) {
    return { client: await this.clients.get(requireId(id, 'id')) };
  }

  @Put(':id')
  @Needs('client.write')
  @ApiOperation({ summary: 'Change a client; the fields given, against the version that was read' })
  @Takes(ClientChangeDto)
  async change(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return await this.clients.change(requireId(id, 'id'), body, actor);
  }

  @Get(':id/formula')
  @Needs('cut.read')
  @ApiOperation({ summary: 'The current cut formula with every zone grown to a date' })
  async formula(@Param('id') id: string, @Query('on') on?: string) {
    const client = await this.clients.get(requireId(id, 'id'));
    const salon = await this.salons.get(client.salonId);
    const date = dateParam(on, 'on', dateIn(salon.zone, this.clock.now()));
    const adjusted = await this.formulas.of(this.reader.manager, client.id, date);
    if (!adjusted) throw DomainError.notFound('CUT.NOT_FOUND', 'cut formula');
    return adjusted;
  }

  @Get(':id/window')
  @ApiOperation({ summary: 'When to come back, for what and why, with the best free slots' })
  async window(@Param('id') id: string) {
    const client = await this.clients.get(requireId(id, 'id'));
    return { suggestion: (await this.checkout.suggest(client.id)) ?? null };
  }

  @Get(':id/visits')
  @Needs('cut.read')
  @ApiOperation({ summary: 'Visits and measurements' })
  async history(@Param('id') id: string) {
    const client = await this.clients.get(requireId(id, 'id'));
    const [visits, measurements] = await Promise.all([
      this.visits.ofClient(this.reader.manager, client.id),
      this.visits.measurements(this.reader.manager, client.id),
    ]);
    return { visits, measurements };
  }
}
