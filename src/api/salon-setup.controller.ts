import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { addDays, Clock, dateIn } from '../base/index.js';
import { By, HasVersion, Needs, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import {
  Resource,
  ResourceInput,
  Resources,
  RotaChangeInput,
  RotaChanges,
  SalonInput,
  Salons,
  Service,
  ServiceInput,
  Staff,
  StaffInput,
} from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';
import { dateParam, requireId } from './params.js';

/** What the book is laid out with: notice, skills, services and their steps, chairs and basins, single days of the rota. */
@ApiPart('salon')
@Needs('salon.write')
@Controller('api/v1')
export class SalonSetupController {
  constructor(
    private readonly salons: Salons,
    private readonly resources: Resources,
    private readonly changes: RotaChanges,
    private readonly clock: Clock,
  ) {}

  @Post('salon/change')
  @HttpCode(200)
  @ApiOperation({ summary: "Change the salon's settings; what is left out stays" })
  @Takes(SalonInput)
  async changeSalon(@Who() who: Principal, @Body() body: unknown, @By() actor: Actor) {
    const salon = await this.salons.of(who);
    return { salon: await this.salons.change(salon.id, body, actor) };
  }

  @Post('staff/:id/change')
  @HasVersion('staff', Staff)
  @HttpCode(200)
  @ApiOperation({ summary: 'Change a member of staff, such as her skills; what is left out stays' })
  @Takes(StaffInput)
  async changeStaff(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { staff: await this.salons.changeStaff(requireId(id, 'id'), body, actor) };
  }

  @Post('services')
  @ApiOperation({ summary: 'Offer a service' })
  @Takes(ServiceInput)
  async addService(@Who() who: Principal, @Body() body: unknown, @By() actor: Actor) {
    const salon = await this.salons.of(who);
    return { service: await this.salons.addService(salon.id, body, actor) };
  }

  @Post('services/:id/change')
  @HasVersion('service', Service)
  @HttpCode(200)
  @ApiOperation({ summary: 'Change a service; what is left out stays, and so does what is booked' })
  @Takes(ServiceInput)
  async changeService(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { service: await this.salons.changeService(requireId(id, 'id'), body, actor) };
  }

  @Get('resources')
  @Needs('salon.read')
  @ApiOperation({ summary: 'Chairs, wash basins and rooms' })
  async all(@Who() who: Principal) {
    const salon = await this.salons.of(who);
    return { resources: await this.resources.of(salon.id) };
  }

  @Post('resources')
  @ApiOperation({ summary: 'Add a chair, wash basin or room' })
  @Takes(ResourceInput)
  async addResource(@Who() who: Principal, @Body() body: unknown, @By() actor: Actor) {
    const salon = await this.salons.of(who);
    return { resource: await this.resources.add(salon.id, body, actor) };
  }

  @Post('resources/:id/change')
  @HasVersion('resource', Resource)
  @HttpCode(200)
  @ApiOperation({ summary: 'Change it; what is left out stays' })
  @Takes(ResourceInput)
  async changeResource(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { resource: await this.resources.change(requireId(id, 'id'), body, actor) };
  }

  @Get('staff/:id/rota-changes')
  @Needs('salon.read')
  @ApiOperation({ summary: "Days that differ from a stylist's week" })
  async rotaChanges(
    @Who() who: Principal,
    @Param('id') id: string,
    @Query('from') from?: string,
    @Query('to') to?: string,
  ) {
    const { id: salonId, zone } = await this.salons.of(who);
    const member = await this.salons.member(salonId, requireId(id, 'id'));
    const first = dateParam(from, 'from', dateIn(zone, this.clock.now()));
    const last = dateParam(to, 'to', addDays(first, 60));
    return { changes: await this.changes.of(member.id, first, last) };
  }

  @Put('staff/:id/rota-changes')
  @Needs('rota.write')
  @HttpCode(204)
  @ApiOperation({ summary: 'Other hours on one day; no stretches: a day off' })
  @Takes(RotaChangeInput)
  async setDay(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor): Promise<void> {
    await this.changes.set(requireId(id, 'id'), body, actor);
  }

  @Delete('staff/:id/rota-changes/:date')
  @Needs('rota.write')
  @HttpCode(204)
  @ApiOperation({ summary: "Let the stylist's week count again on that day" })
  async clearDay(@Param('id') id: string, @Param('date') date: string, @By() actor: Actor): Promise<void> {
    await this.changes.clear(requireId(id, 'id'), dateParam(date, 'date', ''), actor);
  }
}
