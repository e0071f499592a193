import { Body, Controller, Get, Param, Post, Put, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { ColourFormulaDto, ColourFormulas, RootBands, ToleranceDto } from '../colour/index.js';
import { By, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { CAUTIONS } from '../skin-tests/index.js';
import { ApiPart, Takes } from './openapi.js';
import { dateParam, requireId } from './params.js';

@ApiPart('colour')
@Needs('cut.read')
@Controller('api/v1')
export class ColourController {
  constructor(
    private readonly formulas: ColourFormulas,
    private readonly bands: RootBands,
  ) {}

  @Get('clients/:id/colour')
  @ApiOperation({ summary: 'Colour formulas, newest first, the root band on a date, and the cautions' })
  async list(@Param('id') id: string, @Query('on') on?: string) {
    const clientId = requireId(id, 'id');
    return {
      formulas: await this.formulas.ofClient(clientId),
      rootBand: (await this.bands.of(clientId, dateParam(on, 'on', '') || undefined)) ?? null,
      cautions: CAUTIONS,
    };
  }

  @Put('clients/:id/root-band-tolerance')
  @Needs('cut.write')
  @ApiOperation({ summary: 'Set how wide a root band this client bears' })
  @Takes(ToleranceDto)
  async setTolerance(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { tolerance: await this.bands.setTolerance(requireId(id, 'id'), body, actor) };
  }

  @Post('visits/:id/colour')
  @Needs('cut.write')
  @ApiOperation({ summary: 'Record a mixture on a visit whose colour the gate let through' })
  @Takes(ColourFormulaDto)
  async record(@Param('id') id: string, @Body() body: unknown, @By() actor: Actor) {
    return { ...(await this.formulas.record(requireId(id, 'id'), body, actor)), cautions: CAUTIONS };
  }
}
