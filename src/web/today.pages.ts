import { Controller, Get, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { addDays, isDate } from '../base/index.js';
import { Book } from '../book/index.js';
import { Needs, renderPage, Who } from '../http/index.js';
import { may, type Principal } from '../identity/index.js';
import { BookedAhead } from './booked-ahead.js';
import { dayView } from './day-view.js';
import { dayText } from './days.js';
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
    const { salon, now, today, me, spoken } = await this.front.setting(principal);
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
      heading: date === today ? 'Today' : dayText(date, spoken),
      ...view,
      date,
      dateWords: dayText(date, spoken),
      isToday: date === today,
      before: { date: addDays(date, -1), words: dayText(addDays(date, -1), spoken) },
      after: { date: addDays(date, 1), words: dayText(addDays(date, 1), spoken) },
      closed: day.closed,
      count: counted(count, 'appointment'),
      nobody: view.columns.length === 0,
      dayGrid: true,
    });
  }
}
