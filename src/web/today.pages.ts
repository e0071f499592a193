import { Controller, Get, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { addDays, dateInWords, isDate } from '../base/index.js';
import { Book } from '../book/index.js';
import { Needs, renderPage, Who } from '../http/index.js';
import { may, type Principal } from '../identity/index.js';
import { BookedAhead } from './booked-ahead.js';
import { dayView } from './day-view.js';
import { Front } from './front.js';
import { counted } from './words.js';

@Controller('today')
export class TodayPages {
  constructor(
    private readonly front: Front,
    private readonly book: Book,
    private readonly ahead: BookedAhead,
  ) {}

  @Needs('book.read')
  @Get()
  async day(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query('date') asked?: string,
  ): Promise<void> {
    const { salon, now, today, me } = await this.front.setting(principal);
    const date = isDate(asked) ? asked : today;
    const day = await this.book.day(salon.id, date);
    const done = day.columns.flatMap(({ appointments }) =>
      appointments.filter(({ state }) => state === 'done'),
    );
    const bookedAhead = await this.ahead.among(
      done.map(({ clientId }) => clientId),
      now,
    );
    const cuts = may(principal.role, 'cut.write');
    const view = dayView(day, { now, today, cuts, bookedAhead }, me?.id);
    const count = view.columns.reduce((sum, column) => sum + column.count, 0);
    await renderPage(request, reply, 'today', {
      heading: date === today ? 'Today' : dateInWords(date, salon.locale),
      ...view,
      date,
      dateWords: dateInWords(date, salon.locale),
      isToday: date === today,
      before: addDays(date, -1),
      after: addDays(date, 1),
      closed: day.closed,
      count: counted(count, 'appointment'),
      nobody: view.columns.length === 0,
      dayGrid: true,
    });
  }
}
