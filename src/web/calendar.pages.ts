import { Controller, Get, Inject, Param, Post, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { DomainError, dateIn } from '../base/index.js';
import { Calendars } from '../book/index.js';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import { type Actor, may, type Principal } from '../identity/index.js';
import { Salons, type Staff } from '../salon/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { dayText } from './days.js';
import { Front } from './front.js';
import { staffOfSalon } from './staff-of-salon.js';

/** A stylist's appointments in her own calendar program: her secret address, made, made anew and closed. */
@Needs('book.read')
@Controller('calendar')
export class CalendarPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly calendars: Calendars,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  /** One's own. */
  @Get()
  async mine(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    const { me } = await this.front.setting(principal);
    if (me) {
      await this.show(request, reply, principal, me);
      return;
    }
    await renderPage(request, reply, 'calendar', { heading: 'Calendar', nobody: true });
  }

  @Get(':staffId')
  async one(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('staffId') staffId: string,
  ): Promise<void> {
    await this.show(request, reply, principal, await this.allowed(principal, staffId));
  }

  /** The address is shown on the answer itself: only its hash is kept, and it can never be shown again. */
  @Post(':staffId')
  async renew(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('staffId') staffId: string,
  ): Promise<void> {
    const staff = await this.allowed(principal, staffId);
    const token = await this.calendars.issueFeed(staff.id, actor);
    await this.show(request, reply, principal, staff, `/api/v1/calendars/${token}`);
  }

  @Post(':staffId/close')
  async close(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('staffId') staffId: string,
  ): Promise<void> {
    const staff = await this.allowed(principal, staffId);
    await this.calendars.endFeed(staff.id, actor);
    leaveNotice(request, reply, 'Closed: the address opens nothing any more.');
    await reply.redirect(`/calendar/${staff.id}`, 303);
  }

  /** Throws STAFF.NOT_FOUND, and CALENDAR.NOT_YOURS for another's without the right to settings. */
  private async allowed(principal: Principal, staffId: string): Promise<Staff> {
    const { salon, me } = await this.front.setting(principal);
    const staff = await staffOfSalon(this.salons, salon.id, staffId);
    if (staff.id === me?.id || may(principal.role, 'salon.write')) return staff;
    throw new DomainError(
      'forbidden',
      'CALENDAR.NOT_YOURS',
      'A calendar is opened by whose it is, or by the owner.',
    );
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    staff: Staff,
    path?: string,
  ): Promise<void> {
    const { salon, spoken } = await this.front.setting(principal);
    const since = await this.calendars.feedSince(staff.id);
    const address = path && new URL(path, this.settings.publicUrl).href;
    await renderPage(request, reply, 'calendar', {
      heading: `Calendar of ${staff.name}`,
      staffId: staff.id,
      name: staff.name,
      address,
      subscribe: address?.replace(/^https?:/, 'webcal:'),
      since: since !== undefined && dayText(dateIn(salon.zone, since), spoken),
    });
  }
}
