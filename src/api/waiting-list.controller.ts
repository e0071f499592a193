import { Body, Controller, Delete, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import {
  FreedInput,
  OfferInput,
  TakeInput,
  WaitInput,
  WaitingEntry,
  WaitingList,
  WaitingOffers,
} from '../book/index.js';
import { By, HasVersion, Needs, Who, WithoutKey } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';
import { nextOf, Paged, type PagedList, type PageQuery, pageAsked } from './page.js';
import { requireId } from './params.js';

const WAITING: PagedList = { name: 'waiting', key: ['number', 'text'], usual: 100, most: 200 };

@ApiPart('waiting list')
@Needs('book.write')
@Controller('api/v1')
export class WaitingListController {
  constructor(
    private readonly salons: Salons,
    private readonly list: WaitingList,
    private readonly offers: WaitingOffers,
  ) {}

  @Get('waiting')
  @Needs('book.read')
  @Paged(WAITING)
  @ApiOperation({ summary: 'Who waits, the longest first, in pages' })
  async all(@Who() who: Principal, @Query() query: PageQuery) {
    const asked = pageAsked(WAITING, query);
    const salon = await this.salons.of(who);
    const { rows, next } = await this.list.page(salon.id, asked);
    return { waiting: rows, next: nextOf(WAITING, next) };
  }

  @Post('waiting')
  @ApiOperation({ summary: 'Put a client on the waiting list' })
  @Takes(WaitInput)
  async add(@Body() body: unknown, @By() actor: Actor) {
    return { entry: await this.list.add(body, actor) };
  }

  @Get('waiting/:id')
  @Needs('book.read')
  @HasVersion('entry', WaitingEntry)
  @ApiOperation({ summary: 'What a client waits for' })
  async one(@Param('id') id: string) {
    return { entry: await this.list.get(requireId(id, 'id')) };
  }

  @Post('waiting/:id/change')
  @HasVersion('entry', WaitingEntry)
  @HttpCode(200)
  @ApiOperation({ summary: 'Change what a client waits for' })
  @Takes(WaitInput)
  async change(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { entry: await this.list.change(requireId(id, 'id'), body, actor) };
  }

  @Post('waiting/:id/taking')
  @ApiOperation({
    summary: 'Book a free time for one who waits and said yes; the others learn that it is gone',
  })
  @Takes(TakeInput)
  async take(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { appointment: await this.offers.take(requireId(id, 'id'), body, actor) };
  }

  @Delete('waiting/:id')
  @HasVersion('entry', WaitingEntry)
  @HttpCode(204)
  @ApiOperation({ summary: 'Take a client off the waiting list' })
  async remove(@Param('id') id: string, @By() actor: Actor): Promise<void> {
    await this.list.remove(requireId(id, 'id'), actor);
  }

  @Get('appointments/:id/matches')
  @Needs('book.read')
  @ApiOperation({ summary: 'Who waits and could have the time of a cancelled appointment, best first' })
  async matchesOf(@Param('id') id: string) {
    return { matches: await this.list.matchesOf(requireId(id, 'id')) };
  }

  @Post('waiting/matches')
  @Needs('book.read')
  @HttpCode(200)
  @ApiOperation({ summary: "Who waits and could have a stretch of a stylist's time, best first" })
  @Takes(FreedInput)
  async matches(@Who() who: Principal, @Body() body: unknown) {
    const salon = await this.salons.of(who);
    return { matches: await this.list.matches(salon.id, body) };
  }

  @Post('offers')
  @WithoutKey()
  @ApiOperation({ summary: 'Offer a free time to some who wait: the first to accept has it' })
  @Takes(OfferInput)
  async offer(@Who() who: Principal, @Body() body: unknown, @By() actor: Actor) {
    const salon = await this.salons.of(who);
    return { offers: await this.offers.offer(salon.id, body, actor) };
  }
}
