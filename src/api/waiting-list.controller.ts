import { Body, Controller, Delete, Get, HttpCode, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { FreedInput, OfferInput, TakeInput, WaitInput, WaitingList, WaitingOffers } from '../book/index.js';
import { By, Needs, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

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
  @ApiOperation({ summary: 'Who waits, the longest first' })
  async all(@Who() who: Principal) {
    const salon = await this.salons.of(who);
    return { waiting: await this.list.of(salon.id) };
  }

  @Post('waiting')
  @ApiOperation({ summary: 'Put a client on the waiting list' })
  @Takes(WaitInput)
  async add(@Body() body: unknown, @By() actor: Actor) {
    return { entry: await this.list.add(body, actor) };
  }

  @Post('waiting/:id/change')
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
  @ApiOperation({ summary: 'Offer a free time to some who wait: the first to accept has it' })
  @Takes(OfferInput)
  async offer(@Who() who: Principal, @Body() body: unknown, @By() actor: Actor) {
    const salon = await this.salons.of(who);
    return { offers: await this.offers.offer(salon.id, body, actor) };
  }
}
