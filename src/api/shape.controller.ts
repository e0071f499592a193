import { Controller, Get, Param, Query, Res } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import type { FastifyReply } from 'fastify';
import { Clock, DomainError, dateIn } from '../base/index.js';
import { Clients } from '../clients/index.js';
import { type Drawing, Drawings, type DrawnMoment, Formulas, GrowthAdjustedFormulas } from '../cuts/index.js';
import { VIEWS, type View } from '../engine/shape/index.js';
import { Needs, Who } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { Reshapes, TidyPlans } from '../rebooking/index.js';
import { Salons } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { ApiPart, Asks, Sends } from './openapi.js';
import { dateParam, requireId } from './params.js';

const MOMENTS = ['as-cut', 'today', 'wanted'] as const satisfies readonly DrawnMoment[];
const WISHES = ['price', 'minutes'] as const;

function oneOf<T extends string>(
  value: string | undefined,
  field: string,
  known: readonly T[],
  fallback: T,
): T {
  if (value === undefined || value === '') return fallback;
  if (!known.includes(value as T)) {
    throw DomainError.invalid('INPUT.INVALID', field, `${field} must be one of ${known.join(', ')}.`);
  }
  return value as T;
}

async function sendDrawing(reply: FastifyReply, drawing: Drawing): Promise<void> {
  if ('refused' in drawing) throw new DomainError('refused', 'CUT.NOT_DRAWN', drawing.refused);
  await reply
    .header('content-type', 'image/svg+xml; charset=utf-8')
    .header('cache-control', 'no-store')
    .send(drawing.svg);
}

/** What the cut engine makes of a client's formula: drawings, the plan of tidies, the way to another shape. */
@ApiPart('shape')
@Needs('cut.read')
@Controller('api/v1')
export class ShapeController {
  constructor(
    private readonly clients: Clients,
    private readonly salons: Salons,
    private readonly formulas: Formulas,
    private readonly adjusted: GrowthAdjustedFormulas,
    private readonly drawings: Drawings,
    private readonly plans: TidyPlans,
    private readonly reshapes: Reshapes,
    private readonly reader: Reader,
    private readonly clock: Clock,
  ) {}

  @Get('formulas')
  @ApiOperation({ summary: "The house's own formulas" })
  async house(@Who() who: Principal) {
    const salon = await this.salons.of(who);
    return { formulas: await this.formulas.house(this.reader.manager, salon.id) };
  }

  @Get('formulas/:id')
  @ApiOperation({ summary: 'One formula with its steps, lengths, links and hold limits' })
  async formula(@Param('id') id: string) {
    return await this.formulas.read(this.reader.manager, requireId(id, 'id'));
  }

  @Get('clients/:id/drawing')
  @Asks('view', 'moment', 'behind', 'on')
  @Sends('image/svg+xml')
  @ApiOperation({ summary: 'The shape as SVG: a view of a moment, with another moment as a broken line' })
  async drawing(
    @Param('id') id: string,
    @Query() query: { view?: string; moment?: string; behind?: string; on?: string },
    @Res() reply: FastifyReply,
  ): Promise<void> {
    const { clientId, date } = await this.standing(id, query.on);
    const adjusted = await this.adjusted.of(this.reader.manager, clientId, date);
    if (!adjusted) throw DomainError.notFound('CUT.NOT_FOUND', 'cut formula');
    const view = oneOf<View>(query.view, 'view', VIEWS, 'right');
    const moment = oneOf<DrawnMoment>(query.moment, 'moment', MOMENTS, 'today');
    const behind = query.behind ? oneOf<DrawnMoment>(query.behind, 'behind', MOMENTS, 'as-cut') : undefined;
    await sendDrawing(reply, this.drawings.draw(adjusted, view, moment, behind));
  }

  @Get('clients/:id/plan')
  @ApiOperation({ summary: 'The cheapest visits of the next 26 weeks that keep the shape within its limits' })
  async plan(@Param('id') id: string, @Query('wish') wish?: string) {
    const { clientId, date } = await this.standing(id);
    return await this.plans.of(this.reader.manager, clientId, date, oneOf(wish, 'wish', WISHES, 'price'));
  }

  @Get('clients/:id/reshape')
  @ApiOperation({ summary: 'What of another formula can be cut today, and from when the rest' })
  async reshape(@Param('id') id: string, @Query('to') to?: string, @Query('view') view?: string) {
    const { clientId, date } = await this.standing(id);
    const target = requireId(to ?? '', 'to');
    return await this.reshapes.path(
      this.reader.manager,
      clientId,
      target,
      date,
      oneOf<View>(view, 'view', VIEWS, 'right'),
    );
  }

  private async standing(id: string, on?: string) {
    const client = await this.clients.get(requireId(id, 'id'));
    const salon = await this.salons.get(client.salonId);
    return { clientId: client.id, date: dateParam(on, 'on', dateIn(salon.zone, this.clock.now())) };
  }
}
