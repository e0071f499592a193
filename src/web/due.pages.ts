import { Controller, Get, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { addDays, daysBetween } from '../base/index.js';
import { Needs, renderPage, Who } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { type DueClient, DueList } from '../rebooking/index.js';
import { windowView } from './card-view.js';
import type { Spoken } from './days.js';
import { Front } from './front.js';
import type { Ruler } from './lengths.js';
import { counted, optionsOf, phoneText } from './words.js';

const AHEAD = optionsOf({ '0': 'today', '7': 'in a week', '14': 'in two weeks', '28': 'in four weeks' });
const SHOWN = 30;
const AT_MOST = 2000;
/** So long after the window a client has gone rather than being due (ours). */
const GONE_AFTER_DAYS = 60;

function dueRow(client: DueClient, ruler: Ruler, spoken: Spoken) {
  const { today } = spoken;
  const window = windowView(client, ruler, spoken);
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
    number: client.phone && phoneText(client.phone),
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
    @Query('all') all?: string,
  ): Promise<void> {
    const { salon, today, ruler, spoken } = await this.front.setting(principal);
    const ahead = AHEAD.find(({ value }) => value === asked) ?? AHEAD[0];
    const clients = await this.due.until(salon.id, addDays(today, Number(ahead?.value ?? 0)), AT_MOST);
    const isGone = ({ latestOn }: DueClient) => daysBetween(latestOn, today) > GONE_AFTER_DAYS;
    const due = clients.filter((client) => !isGone(client));
    const gone = clients.filter(isGone).reverse();
    const shown = all === 'yes' ? due : due.slice(0, SHOWN);
    await renderPage(request, reply, 'due', {
      heading: 'Due',
      rows: shown.map((client) => dueRow(client, ruler, spoken)),
      gone: gone.slice(0, SHOWN * 2).map((client) => dueRow(client, ruler, spoken)),
      goneCount: counted(gone.length, 'client'),
      goneAfter: GONE_AFTER_DAYS,
      count: counted(due.length, 'client'),
      more: shown.length < due.length,
      all: due.length,
      form: { values: { ahead: ahead?.value ?? '0' } },
      ahead: AHEAD,
    });
  }
}
