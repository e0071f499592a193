import { Body, Controller, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { addDays, Clock, dateIn, instantAt, validated } from '../base/index.js';
import {
  APPOINTMENT_STATES,
  Appointment,
  appointmentPage,
  Book,
  BookInput,
  CancelInput,
  MoveInput,
  Slots,
  WalkInInput,
  WalkIns,
} from '../book/index.js';
import { VisitInput } from '../cuts/index.js';
import { By, HasVersion, Needs, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Checkout, DueList, type DuePlace, placeOf } from '../rebooking/index.js';
import { Salons } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { ApiPart, Asks, Takes } from './openapi.js';
import { nextOf, Paged, type PagedList, type PageQuery, pageAsked } from './page.js';
import { choiceParam, countParam, dateParam, requireId, SlotsQuery } from './params.js';

const APPOINTMENTS: PagedList = { name: 'appointments', key: ['number', 'text'], usual: 100, most: 500 };
const DUE: PagedList = { name: 'due', key: ['number', 'text', 'text'], usual: 100, most: 500 };

type AppointmentsQuery = PageQuery & {
  readonly from?: string;
  readonly to?: string;
  readonly staffId?: string;
  readonly clientId?: string;
  readonly state?: string;
};

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
    private readonly reader: Reader,
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

  @Get('appointments/all')
  @Asks('from', 'to', 'staffId', 'clientId', 'state')
  @Needs('book.read')
  @Paged(APPOINTMENTS)
  @ApiOperation({
    summary:
      'Appointments by their start, in pages: of the days `from` to `to`, of `staffId`, `clientId`, in one `state`',
  })
  async all(@Who() who: Principal, @Query() query: AppointmentsQuery) {
    const { from, to, staffId, clientId, state, ...page } = query;
    const { salon } = await this.today(who);
    const first = dateParam(from, 'from', '');
    const last = dateParam(to, 'to', '');
    const wish = {
      fromAt: first ? instantAt(salon.zone, first, '00:00') : undefined,
      toAt: last ? instantAt(salon.zone, addDays(last, 1), '00:00') : undefined,
      staffId: staffId ? requireId(staffId, 'staffId') : undefined,
      clientId: clientId ? requireId(clientId, 'clientId') : undefined,
      state: choiceParam(state, 'state', APPOINTMENT_STATES),
    };
    const asked = pageAsked(APPOINTMENTS, page);
    const { rows, next } = await appointmentPage(this.reader.manager, salon.id, wish, asked);
    return { appointments: rows, next: nextOf(APPOINTMENTS, next) };
  }

  @Get('slots')
  @Asks('serviceId', 'staffId', 'from', 'to', 'limit')
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
  @HasVersion('appointment', Appointment)
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
  @HasVersion('appointment', Appointment)
  @HttpCode(200)
  @ApiOperation({ summary: 'Move to another time or stylist' })
  @Takes(MoveInput)
  async move(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { appointment: await this.book.move(requireId(id, 'id'), body, actor) };
  }

  @Post('appointments/:id/cancellation')
  @HasVersion('appointment', Appointment)
  @HttpCode(200)
  @ApiOperation({ summary: 'Cancel' })
  @Takes(CancelInput)
  async cancel(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { appointment: await this.book.cancel(requireId(id, 'id'), body ?? {}, actor) };
  }

  @Post('appointments/:id/arrival')
  @HasVersion('appointment', Appointment)
  @HttpCode(200)
  @ApiOperation({ summary: 'The client has arrived' })
  async arrive(@Param('id') id: string, @By() actor: Actor) {
    return { appointment: await this.book.arrive(requireId(id, 'id'), actor) };
  }

  @Post('appointments/:id/seating')
  @HasVersion('appointment', Appointment)
  @HttpCode(200)
  @ApiOperation({ summary: 'The client sits in the chair' })
  async seat(@Param('id') id: string, @By() actor: Actor) {
    return { appointment: await this.book.seat(requireId(id, 'id'), actor) };
  }

  @Post('appointments/:id/no-show')
  @HasVersion('appointment', Appointment)
  @HttpCode(200)
  @ApiOperation({ summary: 'The client did not come' })
  async noShow(@Param('id') id: string, @By() actor: Actor) {
    return { appointment: await this.book.noShow(requireId(id, 'id'), actor) };
  }

  @Post('appointments/:id/completion')
  @HasVersion('appointment', Appointment)
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
  @Asks('until', 'staffId')
  @Needs('book.read')
  @Paged(DUE)
  @ApiOperation({
    summary:
      'Clients whose shape is going and who hold no appointment, the most urgent first, in pages: all, or those of `staffId`',
  })
  async dueClients(@Who() who: Principal, @Query() query: PageQuery & { until?: string; staffId?: string }) {
    const today = await this.today(who);
    const until = dateParam(query.until, 'until', addDays(today.date, 7));
    const { after, limit } = pageAsked(DUE, query);
    const staffId = query.staffId ? requireId(query.staffId, 'staffId') : undefined;
    const asked = { until, staffId, after: after as DuePlace | undefined, skip: 0, take: limit + 1 };
    const { clients } = await this.due.page(today.salon.id, asked);
    const due = clients.slice(0, limit);
    const last = clients.length > limit ? due.at(-1) : undefined;
    return { due, next: nextOf(DUE, last ? placeOf(last) : null) };
  }
}
