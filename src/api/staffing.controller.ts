import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { addDays, Clock, DomainError, dateIn } from '../base/index.js';
import { Calendars, Strays } from '../book/index.js';
import { By, Needs, Who, WithoutKey } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { ClosureInput, HoursInput, SalonInput, Salons, StaffInput, WeekInput } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';
import { dateParam, requireId } from './params.js';

/** Closures are told this far ahead. */
const AHEAD_DAYS = 400;

/** Further salons, opening hours, staff and who works when. */
@ApiPart('salon')
@Needs('salon.write')
@Controller('api/v1')
export class StaffingController {
  constructor(
    private readonly salons: Salons,
    private readonly strays: Strays,
    private readonly calendars: Calendars,
    private readonly clock: Clock,
  ) {}

  @Post('salons')
  @ApiOperation({
    summary: 'Another salon; units, currency, language and notice are as in this one where left out',
  })
  @Takes(SalonInput)
  async addSalon(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    const { id } = await this.salons.of(who);
    return { salon: await this.salons.addLike(id, body, actor) };
  }

  @Put('salon/hours')
  @ApiOperation({ summary: "Replace the week's opening hours" })
  @Takes(HoursInput)
  async setHours(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    const { id } = await this.salons.of(who);
    await this.salons.setHours(id, body, actor);
    return { hours: await this.salons.hours(id) };
  }

  @Post('staff')
  @ApiOperation({ summary: 'Add a member of staff' })
  @Takes(StaffInput)
  async addStaff(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    const { id } = await this.salons.of(who);
    return { staff: await this.salons.addStaff(id, body, actor) };
  }

  @Get('staff/:id/rota')
  @Needs('salon.read')
  @ApiOperation({ summary: "A member of staff's week" })
  async rota(@Who() who: Principal, @Param('id') id: string) {
    return { entries: await this.salons.rota(await this.member(who, id)) };
  }

  @Put('staff/:id/rota')
  @Needs('rota.write')
  @ApiOperation({ summary: "Replace a member of staff's week; what is booked stays" })
  @Takes(WeekInput)
  async setRota(@Who() who: Principal, @By() actor: Actor, @Param('id') id: string, @Body() body: unknown) {
    const staffId = await this.member(who, id);
    await this.salons.setRota(staffId, body, actor);
    return { entries: await this.salons.rota(staffId) };
  }

  @Get('closures')
  @Needs('salon.read')
  @ApiOperation({ summary: 'Days off, holidays and closures that touch the days `from` to `to`' })
  async closures(@Who() who: Principal, @Query('from') from?: string, @Query('to') to?: string) {
    const { id, zone } = await this.salons.of(who);
    const first = dateParam(from, 'from', dateIn(zone, this.clock.now()));
    const last = dateParam(to, 'to', addDays(first, AHEAD_DAYS));
    return { closures: await this.salons.closures(id, first, last) };
  }

  @Post('closures')
  @Needs('rota.write')
  @ApiOperation({ summary: 'Close the salon for some days, or give one of the staff days off' })
  @Takes(ClosureInput)
  async addClosure(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    const { id } = await this.salons.of(who);
    return { closure: await this.salons.addClosure(id, body, actor) };
  }

  @Delete('closures/:id')
  @Needs('rota.write')
  @HttpCode(204)
  @ApiOperation({ summary: 'Those days are worked again' })
  async removeClosure(@By() actor: Actor, @Param('id') id: string): Promise<void> {
    await this.salons.removeClosure(requireId(id, 'id'), actor);
  }

  @Get('strays')
  @Needs('salon.read')
  @ApiOperation({ summary: 'Appointments of the next 90 days that lie outside working hours, to be moved' })
  async outsideHours(@Who() who: Principal, @Query('staffId') staffId?: string) {
    const { id } = await this.salons.of(who);
    return { appointments: await this.strays.ahead(id, staffId && requireId(staffId, 'staffId')) };
  }

  @Post('calendar')
  @WithoutKey()
  @Needs('book.read')
  @ApiOperation({ summary: "A new secret address of one's own calendar; the one before no longer opens" })
  async openCalendar(@Who() who: Principal, @By() actor: Actor) {
    const token = await this.calendars.issueFeed(await this.self(who), actor);
    return { token, path: `/api/v1/calendars/${token}` };
  }

  @Delete('calendar')
  @Needs('book.read')
  @HttpCode(204)
  @ApiOperation({ summary: "Close one's own calendar" })
  async closeCalendar(@Who() who: Principal, @By() actor: Actor): Promise<void> {
    await this.calendars.endFeed(await this.self(who), actor);
  }

  private async member(who: Principal, id: string): Promise<string> {
    const salon = await this.salons.of(who);
    return (await this.salons.member(salon.id, requireId(id, 'id'))).id;
  }

  private async self({ accountId }: Principal): Promise<string> {
    const staff = await this.salons.staffOf(accountId);
    if (!staff) throw DomainError.notFound('STAFF.NOT_FOUND', 'member of staff who signs in by this account');
    return staff.id;
  }
}
