import { Body, Controller, Get, Headers, Param, Post, Put, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Clock, DomainError, dateIn, given, validated } from '../base/index.js';
import {
  Client,
  ClientChangeDto,
  type ClientRecord,
  Clients,
  clientPage,
  NewClientDto,
} from '../clients/index.js';
import { GrowthAdjustedFormulas, Visits } from '../cuts/index.js';
import { By, HasVersion, Needs, versionWanted, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Checkout } from '../rebooking/index.js';
import { Salons } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { ApiPart, Asks, Takes } from './openapi.js';
import { nextOf, Paged, type PagedList, type PageQuery, pageAsked } from './page.js';
import { dateParam, instantParam, requireAlone, requireId, SearchQuery } from './params.js';

const CLIENTS: PagedList = { name: 'clients', key: ['text'], usual: 20, most: 100 };
const VISITS: PagedList = { name: 'visits', key: ['text', 'text'], usual: 100, most: 200 };

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
  @Asks('search', 'changedSince')
  @Paged(CLIENTS)
  @ApiOperation({
    summary:
      'Clients by name or phone, best first (`search`), or all of them in pages, or those that changed at `changedSince` ' +
      '(milliseconds) or later',
  })
  async search(
    @Who() who: Principal,
    @Query() query: unknown,
  ): Promise<{ clients: ClientRecord[]; next: string | null }> {
    const { search, changedSince, ...page } = await validated(SearchQuery, query);
    const salon = await this.salons.of(who);
    if (search !== undefined) {
      requireAlone(changedSince, 'changedSince');
      requireAlone(page.cursor, 'cursor');
      const { limit } = pageAsked(CLIENTS, page);
      return { clients: await this.clients.search(salon.id, search, limit), next: null };
    }
    const wish = { changedSince: instantParam(changedSince, 'changedSince') };
    const { rows, next } = await clientPage(this.reader.manager, salon.id, wish, pageAsked(CLIENTS, page));
    return { clients: rows, next: nextOf(CLIENTS, next) };
  }

  @Post()
  @HasVersion('client', Client)
  @Needs('client.write')
  @ApiOperation({ summary: 'Add a client' })
  @Takes(NewClientDto)
  async add(@Who() who: Principal, @Body() body: unknown, @By() actor: Actor) {
    const salon = await this.salons.of(who);
    const given = typeof body === 'object' && body !== null ? body : {};
    return await this.clients.add({ salonId: salon.id, ...given }, actor);
  }

  @Get(':id')
  @HasVersion('client', Client)
  @ApiOperation({ summary: 'One client' })
  async get(@Param('id') id: string) {
    return { client: await this.clients.get(requireId(id, 'id')) };
  }

  @Put(':id')
  @Needs('client.write')
  @ApiOperation({ summary: 'Change a client; the fields given, against the version that was read' })
  @HasVersion('client', Client)
  @Takes(ClientChangeDto)
  async change(
    @Param('id') id: string,
    @Body() body: unknown,
    @By() actor: Actor,
    @Headers('if-match') ifMatch?: string,
  ) {
    // The body may leave out the version that If-Match names.
    const expectedVersion = versionWanted(ifMatch);
    const input = { ...(expectedVersion !== undefined && { expectedVersion }), ...given(body) };
    return await this.clients.change(requireId(id, 'id'), input, actor);
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
  @Paged(VISITS)
  @ApiOperation({ summary: 'Visits in pages, newest first, and all measurements, oldest first' })
  async history(@Param('id') id: string, @Query() query: PageQuery) {
    const client = await this.clients.get(requireId(id, 'id'));
    const [{ rows, next }, measurements] = await Promise.all([
      this.visits.page(this.reader.manager, client.id, pageAsked(VISITS, query)),
      this.visits.measurements(this.reader.manager, client.id),
    ]);
    return { visits: rows, measurements, next: nextOf(VISITS, next) };
  }
}
