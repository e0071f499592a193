import { Body, Controller, Get, HttpCode, Param, Post, Put, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { Clients } from '../clients/index.js';
import { By, Needs, Who } from '../http/index.js';
import { type Actor, AuditTrail, type Principal } from '../identity/index.js';
import { ErasureInput, Privacy, Retention, RetentionInput } from '../privacy/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Asks, Takes } from './openapi.js';
import { nextOf, Paged, type PagedList, type PageQuery, pageAsked } from './page.js';
import { requireId } from './params.js';

/** What a client may ask for, and how long things are kept. */
@ApiPart('privacy')
@Needs('privacy.read')
@Controller('api/v1')
export class PrivacyController {
  constructor(
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly privacy: Privacy,
    private readonly retention: Retention,
  ) {}

  @Get('privacy')
  @ApiOperation({
    summary: 'How many months clients and messages are kept, and what that would take out now',
  })
  async rules(@Who() who: Principal) {
    const { id } = await this.salons.of(who);
    return { rules: await this.retention.rules(id), plan: await this.retention.plan(id) };
  }

  @Put('privacy/rules')
  @Needs('privacy.write')
  @ApiOperation({ summary: 'Set the months; 0 keeps for ever. Nothing is taken out by itself' })
  @Takes(RetentionInput)
  async setRules(@Who() who: Principal, @By() actor: Actor, @Body() body: unknown) {
    const { id } = await this.salons.of(who);
    await this.retention.setRules(id, body, actor);
    return { rules: await this.retention.rules(id) };
  }

  @Post('privacy/application')
  @Needs('privacy.write')
  @HttpCode(200)
  @ApiOperation({ summary: 'Do what the plan says now' })
  async apply(@Who() who: Principal, @By() actor: Actor) {
    const { id } = await this.salons.of(who);
    return { done: await this.retention.apply(id, actor) };
  }

  @Get('clients/:id/consents')
  @Needs('client.read')
  @ApiOperation({ summary: 'Every answer of a client about messages, newest first' })
  async consents(@Param('id') id: string) {
    const client = await this.clients.get(requireId(id, 'id'));
    return { erasedAt: client.erasedAt ?? null, consents: await this.privacy.consents(client.id) };
  }

  @Get('clients/:id/export')
  @ApiOperation({ summary: 'Everything on record of a client, health notes included' })
  async export(@Param('id') id: string, @By() actor: Actor) {
    return await this.privacy.export(requireId(id, 'id'), actor);
  }

  @Post('clients/:id/erasure')
  @Needs('privacy.write')
  @HttpCode(200)
  @ApiOperation({ summary: 'Take everything personal out for good; `sure` must say "erase"' })
  @Takes(ErasureInput)
  async erase(@Param('id') id: string, @By() actor: Actor, @Body() body: unknown) {
    return { erased: await this.privacy.eraseMeant(requireId(id, 'id'), body, actor) };
  }
}

const ENTRIES: PagedList = { name: 'audit', key: ['number'], usual: 100, most: 199 };

/** Who did what. */
@ApiPart('audit')
@Needs('audit.read')
@Controller('api/v1/audit')
export class AuditController {
  constructor(private readonly trail: AuditTrail) {}

  @Get()
  @Asks('who', 'about', 'what', 'before')
  @Paged(ENTRIES)
  @ApiOperation({
    summary:
      'Entries in pages, newest first: of `who`, `about` whom, beginning with the action `what`, `before` a number',
  })
  async list(@Query() { cursor, limit, ...query }: PageQuery & Record<string, unknown>) {
    const { after, limit: most } = pageAsked(ENTRIES, { ...(cursor && { cursor }), ...(limit && { limit }) });
    const asked = after ? { ...query, before: `${after[0]}` } : query;
    const { lines } = await this.trail.find(asked, most + 1);
    const entries = lines.slice(0, most);
    const last = lines.length > most ? entries.at(-1) : undefined;
    return { entries, next: nextOf(ENTRIES, last ? [last.number] : null) };
  }

  @Post('verification')
  @HttpCode(200)
  @ApiOperation({ summary: 'Recompute the whole chain, which takes a while' })
  async verify() {
    return { verdict: await this.trail.verify() };
  }
}
