import { Controller, Delete, Get, HttpCode, Param, Post, Res } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Calendars } from '../book/index.js';
import { By, Needs, Open, WithoutKey } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { ApiPart, Sends } from './openapi.js';
import { requireId } from './params.js';

@ApiPart('calendar')
@Controller('api/v1')
export class CalendarController {
  constructor(private readonly calendars: Calendars) {}

  @Get('appointments/:id/calendar')
  @Sends('text/calendar')
  @Needs('book.read')
  @ApiOperation({ summary: 'An appointment as an iCalendar file; a later one replaces an earlier one' })
  async file(@Param('id') id: string, @Res() reply: FastifyReply): Promise<void> {
    const { method, content } = await this.calendars.file(requireId(id, 'id'));
    await reply
      .type(`text/calendar; charset=utf-8; method=${method}`)
      .header('content-disposition', 'attachment; filename="appointment.ics"')
      .send(content);
  }

  @Post('staff/:id/calendar')
  @WithoutKey()
  @Needs('salon.write')
  @ApiOperation({ summary: "A new secret address of a stylist's calendar; the one before no longer opens" })
  async issue(@Param('id') id: string, @By() actor: Actor) {
    const token = await this.calendars.issueFeed(requireId(id, 'id'), actor);
    return { token, path: `/api/v1/calendars/${token}` };
  }

  @Delete('staff/:id/calendar')
  @Needs('salon.write')
  @HttpCode(204)
  @ApiOperation({ summary: "Close a stylist's calendar" })
  async end(@Param('id') id: string, @By() actor: Actor): Promise<void> {
    await this.calendars.endFeed(requireId(id, 'id'), actor);
  }

  @Get('calendars/:token')
  @Sends('text/calendar')
  @Open()
  @ApiOperation({ summary: "A stylist's calendar, for programs that follow it" })
  async feed(@Param('token') token: string, @Res() reply: FastifyReply): Promise<void> {
    const content = await this.calendars.feed(token);
    await reply
      .type('text/calendar; charset=utf-8; method=PUBLISH')
      .header('cache-control', 'no-store')
      .send(content);
  }
}
