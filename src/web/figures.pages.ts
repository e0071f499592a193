import { Controller, Get, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { addDays } from '../base/index.js';
import { Needs, renderPage, Who } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { type Proportion, RebookingRate } from '../reports/index.js';
import { Front } from './front.js';
import { optionsOf } from './words.js';

const SPANS = optionsOf({
  '92': 'three months',
  '183': 'half a year',
  '366': 'a year',
  '1100': 'three years',
});
const USUAL_SPAN = '183';

const percent = (share: number) => `${Math.round(share * 100)} %`;

function monthWords(month: string, locale: string): string {
  return new Intl.DateTimeFormat(locale, { month: 'long', year: 'numeric', timeZone: 'UTC' }).format(
    new Date(`${month}-01T00:00:00Z`),
  );
}

/** A share with its interval in words and as a bar 100 wide. */
function proportionView({ count, of, share, low, high }: Proportion) {
  return {
    count,
    of,
    share: percent(share),
    range: `${percent(low)} to ${percent(high)}`,
    bar: {
      from: (low * 100).toFixed(1),
      width: ((high - low) * 100).toFixed(1),
      at: (share * 100 - 0.75).toFixed(2),
    },
  };
}

@Controller('figures')
export class FiguresPages {
  constructor(
    private readonly front: Front,
    private readonly rates: RebookingRate,
  ) {}

  @Needs('report.read')
  @Get()
  async rebooking(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query('days') asked?: string,
  ): Promise<void> {
    const { salon, today } = await this.front.setting(principal);
    const days = SPANS.find(({ value }) => value === asked)?.value ?? USUAL_SPAN;
    const firstDay = `${addDays(today, -Number(days)).slice(0, 7)}-01`;
    const { definition, rows, byMonth, byStylist } = await this.rates.since(salon.id, firstDay);
    await renderPage(request, reply, 'figures', {
      heading: 'Figures',
      definition,
      firstDay,
      form: { values: { days } },
      spans: SPANS,
      months: byMonth.map((row) => ({
        month: monthWords(row.month, salon.locale),
        ...proportionView(row),
        stylists: rows
          .filter(({ month }) => month === row.month)
          .map((own) => ({ name: own.staffName, ...proportionView(own) })),
      })),
      stylists: byStylist.map((row) => ({ name: row.staffName, ...proportionView(row) })),
    });
  }
}
