import { Controller, Get, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { addDays, daysBetween } from '../base/index.js';
import { Needs, renderPage, Who } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { type DueClient, DueList } from '../rebooking/index.js';
import { windowView } from './card-view.js';
import { Front } from './front.js';
import { counted, optionsOf } from './words.js';

const AHEAD = optionsOf({ '0': 'today', '7': 'in a week', '14': 'in two weeks', '28': 'in four weeks' });
const SHOWN = 200;

function dueRow(client: DueClient, today: string, locale: string) {
  const window = windowView(client, today, locale);
  const late = daysBetween(client.latestOn, today);
  const toGo = daysBetween(today, client.dueOn);
  const words =
    late > 0
      ? `window passed ${counted(late, 'day')} ago`
      : toGo < 0
        ? 'shape probably gone'
        : toGo === 0
          ? 'due today'
          : `due in ${counted(toGo, 'day')}`;
  return {
    clientId: client.clientId,
    name: client.clientName.trim(),
    phone: client.phone,
    email: client.email,
    sign: late > 0 ? 'failed' : toGo <= 0 ? 'late' : 'booked',
    words,
    window,
  };
}

@Controller('due')
export class DuePages {
  constructor(
    private readonly front: Front,
    private readonly due: DueList,
  ) {}

  @Needs('book.read')
  @Get()
  async list(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query('ahead') asked?: string,
  ): Promise<void> {
    const { salon, today } = await this.front.setting(principal);
    const ahead = AHEAD.find(({ value }) => value === asked) ?? AHEAD[0];
    const clients = await this.due.until(salon.id, addDays(today, Number(ahead?.value ?? 0)), SHOWN);
    await renderPage(request, reply, 'due', {
      heading: 'Due',
      rows: clients.map((client) => dueRow(client, today, salon.locale)),
      count: counted(clients.length, 'client'),
      full: clients.length === SHOWN,
      form: { values: { ahead: ahead?.value ?? '0' } },
      ahead: AHEAD,
    });
  }
}
