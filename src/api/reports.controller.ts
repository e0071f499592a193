import { Controller, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { addDays, Clock, DomainError, dateIn } from '../base/index.js';
import { Needs, Who } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import {
  CUTS_BY,
  type CutBy,
  FIGURE_PARTS,
  Figures,
  Forecasts,
  figureView,
  RebookingRate,
} from '../reports/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart } from './openapi.js';
import { dateParam } from './params.js';

@ApiPart('reports')
@Controller('api/v1/reports')
export class ReportsController {
  constructor(
    private readonly rate: RebookingRate,
    private readonly figures: Figures,
    private readonly forecasts: Forecasts,
    private readonly salons: Salons,
    private readonly clock: Clock,
  ) {}

  @Needs('report.read')
  @Get('rebooking-rate')
  @ApiOperation({ summary: 'Rebooked at checkout, by month and stylist, with 95 % Wilson intervals' })
  async rebooking(@Who() who: Principal, @Query('since') since?: string) {
    const salon = await this.salons.of(who);
    return await this.rate.since(salon.id, this.since(salon.zone, since));
  }

  @Needs('report.write')
  @Post('forecast')
  @HttpCode(200)
  @ApiOperation({
    summary:
      'Makes this week’s forecast unless there is one or nobody has come yet; it is made by itself every week',
  })
  async forecast(@Who() who: Principal): Promise<{ made: boolean }> {
    return { made: await this.forecasts.keepUp(await this.salons.of(who)) };
  }

  @Needs('report.open')
  @Get(':part')
  @ApiOperation({
    summary:
      `Figures with their definitions: ${FIGURE_PARTS.join(', ')}. \`by\` is one of ${CUTS_BY.join(', ')}. ` +
      'A stylist gets those of her own visits, the desk the outlook.',
  })
  async part(
    @Who() who: Principal,
    @Who() principal: Principal,
    @Param('part') name: string,
    @Query('by') by?: string,
    @Query('since') since?: string,
  ) {
    const salon = await this.salons.of(who);
    const me = await this.salons.staffOf(principal.accountId);
    const view = figureView(principal, me?.id ?? null);
    const part = view.parts.find((candidate) => candidate === name);
    if (!part) throw DomainError.notFound('REPORT.NOT_FOUND', 'report');
    const figures = await this.figures.part({
      salon,
      part,
      by: cutParam(by),
      fromDate: this.since(salon.zone, since),
      staffId: view.staffId,
    });
    // What is drawn holds nothing that the rows do not.
    return { figures: figures.map(({ chart: _, ...figure }) => figure) };
  }

  private since(zone: string, given: string | undefined): string {
    return dateParam(given, 'since', addDays(dateIn(zone, this.clock.now()), -365));
  }
}

/** Throws naming the parameter for anything that figures are not cut by. */
function cutParam(by: string | undefined): CutBy {
  if (by === undefined || by === '') return 'stylist';
  const cut = CUTS_BY.find((candidate) => candidate === by);
  if (!cut) throw DomainError.invalid('INPUT.INVALID', 'by', `by must be one of ${CUTS_BY.join(', ')}.`);
  return cut;
}
