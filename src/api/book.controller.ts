import { Body, Controller, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { addDays, Clock, dateIn, validated } from '../base/index.js';
import { Book, BookInput, CancelInput, MoveInput, Slots, WalkInInput, WalkIns } from '../book/index.js';
import { VisitInput } from '../cuts/index.js';
import { By, Needs, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Checkout, DueList } from '../rebooking/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';
import { countParam, dateParam, requireId, SlotsQuery } from './params.js';

@ApiPart('book')
@Needs('book.write')
@Controller('api/v1')
export class BookController {
  constructor(
    private readonly book: Book,
    private readonly slots: Slots,
    private readonly walkIns: WalkIns,
    private readonly salons: Salons,
    private readonly checkout: Checkout,
    private readonly due: DueList,
    private readonly clock: Clock,
  ) {}

  private async today(who: Principal) {
    const salon = await this.salons.of(who);
    return { salon, date: dateIn(salon.zone, this.clock.now()) };
  }

  @Get('appointments')
  @Needs('book.read')
  @ApiOperation({ summary: "A day's book" })
  async day(@Who() who: Principal, @Query('date') date?: string) {
    const today = await this.today(who);
    return await this.book.day(today.salon.id, dateParam(date, 'date', today.date));
  }

  @Get('slots')
  @Needs('book.read')
  @ApiOperation({ summary: 'Free slots for a service' })
  async free(@Who() who: Principal, @Query() query: unknown) {
    const { serviceId, staffId, from, to, limit } = await validated(SlotsQuery, query);
    const today = await this.today(who);
    const fromDate = dateParam(from, 'from', today.date);
    const slots = await this.slots.find({
      salonId: today.salon.id,
      serviceId,
      ...(staffId !== undefined && { staffId }),
      fromDate,
      toDate: dateParam(to, 'to', addDays(fromDate, 14)),
      limit: countParam(limit, 'limit', 20, 200),
    });
    return { slots };
  }

  @Post('appointments')
  @ApiOperation({ summary: 'Book' })
  @Takes(BookInput)
  async add(@Body() body: unknown, @By() actor: Actor) {
    return { appointment: await this.book.book(body, actor) };
  }

  @Post('walk-ins')
  @ApiOperation({
    summary:
      'Somebody without an appointment: the first free start of today, marked as arrived; a new client in passing',
  })
  @Takes(WalkInInput)
  async walkedIn(@Who() who: Principal, @Body() body: unknown, @By() actor: Actor) {
    const { salon } = await this.today(who);
    const given = typeof body === 'object' && body !== null ? body : {};
    return await this.walkIns.take({ salonId: salon.id, ...given }, actor);
  }

  @Post('appointments/:id/move')
  @HttpCode(200)
  @ApiOperation({ summary: 'Move to another time or stylist' })
  @Takes(MoveInput)
  async move(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { appointment: await this.book.move(requireId(id, 'id'), body, actor) };
  }

  @Post('appointments/:id/cancellation')
  @HttpCode(200)
  @ApiOperation({ summary: 'Cancel' })
  @Takes(CancelInput)
  async cancel(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { appointment: await this.book.cancel(requireId(id, 'id'), body ?? {}, actor) };
  }

  @Post('appointments/:id/arrival')
  @HttpCode(200)
  @ApiOperation({ summary: 'The client has arrived' })
  async arrive(@Param('id') id: string, @By() actor: Actor) {
    return { appointment: await this.book.arrive(requireId(id, 'id'), actor) };
  }

  @Post('appointments/:id/seating')
  @HttpCode(200)
  @ApiOperation({ summary: 'The client sits in the chair' })
  async seat(@Param('id') id: string, @By() actor: Actor) {
    return { appointment: await this.book.seat(requireId(id, 'id'), actor) };
  }

  @Post('appointments/:id/no-show')
  @HttpCode(200)
  @ApiOperation({ summary: 'The client did not come' })
  async noShow(@Param('id') id: string, @By() actor: Actor) {
    return { appointment: await this.book.noShow(requireId(id, 'id'), actor) };
  }

  @Post('appointments/:id/completion')
  @Needs('cut.write')
  @ApiOperation({
    summary: 'Close the visit: measurements, the formula as cut; answers with the next visit suggested',
  })
  @Takes(VisitInput)
  async complete(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    const visit = await this.checkout.complete(requireId(id, 'id'), body ?? {}, actor);
    return { visit, suggestion: (await this.checkout.suggest(visit.clientId, visit.staffId)) ?? null };
  }

  @Post('visits')
  @Needs('cut.write')
  @ApiOperation({ summary: 'Record a visit that was not booked' })
  @Takes(VisitInput)
  async walkIn(@Body() body: unknown, @By() actor: Actor) {
    const visit = await this.checkout.walkIn(body, actor);
    return { visit, suggestion: (await this.checkout.suggest(visit.clientId, visit.staffId)) ?? null };
  }

  @Get('due')
  @Needs('book.read')
  @ApiOperation({ summary: 'Clients whose shape is going and who hold no appointment' })
  async dueClients(@Who() who: Principal, @Query('until') until?: string, @Query('limit') limit?: string) {
    const today = await this.today(who);
    const date = dateParam(until, 'until', addDays(today.date, 7));
    return { due: await this.due.until(today.salon.id, date, countParam(limit, 'limit', 100, 500)) };
  }
}
