import { Controller, Get, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { addDays, Clock, dateIn } from '../base/index.js';
import { Needs } from '../http/index.js';
import { RebookingRate } from '../reports/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart } from './openapi.js';
import { dateParam } from './params.js';

@ApiPart('reports')
@Needs('report.read')
@Controller('api/v1/reports')
export class ReportsController {
  constructor(
    private readonly rate: RebookingRate,
    private readonly salons: Salons,
    private readonly clock: Clock,
  ) {}

  @Get('rebooking-rate')
  @ApiOperation({ summary: 'Rebooked at checkout, by month and stylist, with 95 % Wilson intervals' })
  async rebooking(@Query('since') since?: string) {
    const salon = await this.salons.only();
    const yearAgo = addDays(dateIn(salon.zone, this.clock.now()), -365);
    return await this.rate.since(salon.id, dateParam(since, 'since', yearAgo));
  }
}
