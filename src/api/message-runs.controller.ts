import { Body, Controller, Get, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { By, Needs, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { Invitations, MessageRulesInput, Messages, RunInput, Runs, SalonRules } from '../reminders/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';
import { nextOf, Paged, type PagedList, type PageQuery, pageAsked } from './page.js';
import { requireId } from './params.js';

/** Invitations to one or to many, and when messages go. */
const RUNS: PagedList = { name: 'message-runs', key: ['text'], usual: 20, most: 100 };

@ApiPart('messages')
@Needs('message.write')
@Controller('api/v1')
export class MessageRunsController {
  constructor(
    private readonly salons: Salons,
    private readonly messages: Messages,
    private readonly invitations: Invitations,
    private readonly runs: Runs,
    private readonly rules: SalonRules,
  ) {}

  @Get('messages/:id')
  @Needs('message.read')
  @ApiOperation({ summary: 'A message with its text as it was sent' })
  async message(@Param('id') id: string) {
    return { message: await this.messages.get(requireId(id, 'id')) };
  }

  @Post('clients/:id/invitation')
  @ApiOperation({ summary: 'Invite a client whose shape is going, if she may be written to' })
  async invite(@Param('id') id: string, @By() actor: Actor) {
    return { invitation: await this.invitations.invite(requireId(id, 'id'), actor) };
  }

  @Get('message-runs')
  @Paged(RUNS)
  @ApiOperation({ summary: 'Invitations to many, the newest first, in pages' })
  async list(@Who() who: Principal, @Query() query: PageQuery) {
    const asked = pageAsked(RUNS, query);
    const { id } = await this.salons.of(who);
    const { rows, next } = await this.runs.page(id, asked);
    return { runs: rows, next: nextOf(RUNS, next) };
  }

  @Get('message-runs/reach')
  @ApiOperation({ summary: 'How many would be invited whose shape comes due until a day' })
  async reach(@Who() who: Principal, @Query('until') until?: string) {
    const { id } = await this.salons.of(who);
    return { clients: await this.runs.wouldReach(id, { until }) };
  }

  @Post('message-runs')
  @ApiOperation({ summary: 'Invite everybody whose shape comes due until a day and who may be written to' })
  @Takes(RunInput)
  async start(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    const { id } = await this.salons.of(who);
    return { run: await this.runs.start(id, body, actor) };
  }

  @Get('message-runs/:id')
  @ApiOperation({ summary: 'How far a run has come' })
  async progress(@Param('id') id: string) {
    return { run: await this.runs.progress(requireId(id, 'id')) };
  }

  @Post('message-runs/:id/stop')
  @HttpCode(200)
  @ApiOperation({ summary: 'Hold back what has not gone yet' })
  async stop(@Param('id') id: string, @By() actor: Actor) {
    return { run: await this.runs.stop(requireId(id, 'id'), actor) };
  }

  @Get('message-rules')
  @Needs('salon.write')
  @ApiOperation({ summary: 'When messages go: reminders, quiet hours, how often clients are invited' })
  async showRules(@Who() who: Principal) {
    const { id } = await this.salons.of(who);
    return { rules: await this.rules.get(id) };
  }

  @Put('message-rules')
  @Needs('salon.write')
  @ApiOperation({ summary: 'Set when messages go; what is owed already keeps its time' })
  @Takes(MessageRulesInput)
  async setRules(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    const { id } = await this.salons.of(who);
    return { rules: await this.rules.save(id, body, actor) };
  }
}
