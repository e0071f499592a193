import { Body, Controller, Get, Param, Post, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { DomainError, dateIn, dateInWords, timeIn } from '../base/index.js';
import { Clients } from '../clients/index.js';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { type ClientExport, Privacy, Retention } from '../privacy/index.js';
import { type Salon, Salons } from '../salon/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { counted } from './words.js';

const CONFIRMATION = 'erase';

/** What a client may ask for, and how long things are kept: the owner's pages. */
@Needs('privacy.read')
@Controller()
export class PrivacyPages {
  constructor(
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly salons: Salons,
    private readonly privacy: Privacy,
    private readonly retention: Retention,
  ) {}

  @Get('privacy')
  async page(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query('search') search?: unknown,
  ): Promise<void> {
    const salon = await this.salons.of(principal);
    await this.show(request, reply, salon, typeof search === 'string' ? search.slice(0, 100) : '');
  }

  @Needs('privacy.write')
  @Post('privacy/rules')
  async setRules(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const salon = await this.salons.of(principal);
    const { client = '', message = '' } = typedValues(body);
    await answerForm({
      reply,
      values: { client, message },
      work: async () => {
        await this.retention.setRules(salon.id, { client, message }, actor);
        await reply.redirect('/privacy', 303);
      },
      again: (form) => this.show(request, reply, salon, '', form),
    });
  }

  @Needs('privacy.write')
  @Post('privacy/apply')
  async apply(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
  ): Promise<void> {
    const salon = await this.salons.of(principal);
    const { clients, messages } = await this.retention.apply(salon.id, actor);
    leaveNotice(
      request,
      reply,
      `Erased: ${counted(clients.length, 'client')}; emptied: ${counted(messages, 'message')}.`,
    );
    await reply.redirect('/privacy', 303);
  }

  @Get('clients/:id/privacy')
  async client(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
  ): Promise<void> {
    await this.showClient(request, reply, principal, id, openForm({ sure: '' }));
  }

  /** Everything on record, for a machine. */
  @Get('clients/:id/export.json')
  async exportJson(@Res() reply: FastifyReply, @By() actor: Actor, @Param('id') id: string): Promise<void> {
    const data = await this.privacy.export(id, actor);
    await reply
      .header('content-type', 'application/json; charset=utf-8')
      .header('content-disposition', `attachment; filename="client-${data.clientId}.json"`)
      .send(JSON.stringify(data, null, 2));
  }

  /** Everything on record, for a person. */
  @Get('clients/:id/export')
  async exportPage(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    const salon = await this.salons.of(principal);
    const data = await this.privacy.export(id, actor);
    const [staff, services] = await Promise.all([
      this.salons.staff(salon.id),
      this.salons.services(salon.id),
    ]);
    const names = new Map([...staff, ...services].map((row) => [row.id, row.name]));
    await renderPage(request, reply, 'client-export', {
      heading: 'Everything on record',
      salon,
      on: moment(salon, Date.parse(data.exportedAt)),
      tables: tablesInWords(data, salon, names),
      trail: data.trail.map((line) => ({ ...line, at: moment(salon, line.at) })),
    });
  }

  @Needs('privacy.write')
  @Post('clients/:id/erasure')
  async erase(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
    @Body() body: unknown,
  ): Promise<void> {
    const { sure = '' } = typedValues(body);
    await answerForm({
      reply,
      values: { sure },
      work: async () => {
        if (sure.trim().toLowerCase() !== CONFIRMATION) {
          throw DomainError.invalid('PRIVACY.CONFIRM', 'sure', `Type "${CONFIRMATION}" to go on.`);
        }
        await this.privacy.erase(id, actor);
        leaveNotice(request, reply, 'The client is erased.');
        await reply.redirect('/privacy', 303);
      },
      again: (form) => this.showClient(request, reply, principal, id, form),
    });
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    salon: Salon,
    search: string,
    form?: FormState,
  ): Promise<void> {
    const [rules, plan, found] = await Promise.all([
      this.retention.rules(salon.id),
      this.retention.plan(salon.id),
      search ? this.clients.search(salon.id, search, 20) : [],
    ]);
    await renderPage(request, reply, 'privacy', {
      heading: 'Privacy',
      form: form ?? openForm({ client: String(rules.client), message: String(rules.message) }),
      search,
      found: found.map(({ id, givenName, familyName }) => ({
        id,
        name: `${givenName} ${familyName}`.trim(),
      })),
      plan: {
        ...plan,
        words: `${counted(plan.clients.length, 'client')} and ${counted(plan.messages, 'message')}`,
        isEmpty: plan.clients.length + plan.messages === 0,
      },
    });
  }

  private async showClient(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    id: string,
    form: FormState,
  ): Promise<void> {
    const client = await this.clients.get(id);
    const { salon } = await this.front.setting(principal);
    const consents = await this.privacy.consents(id);
    await renderPage(request, reply, 'client-privacy', {
      heading: 'Privacy of a client',
      client,
      form,
      name: `${client.givenName} ${client.familyName}`.trim(),
      erased: client.erasedAt ? moment(salon, client.erasedAt) : '',
      consents: consents.map((consent) => ({ ...consent, at: moment(salon, consent.at) })),
    });
  }
}

function moment(salon: Salon, at: number): string {
  return `${dateInWords(dateIn(salon.zone, at), salon.locale)} ${timeIn(salon.zone, at)}`;
}

/** A column's name as words: "givenName" is "given name". */
function inWords(name: string): string {
  return name
    .replace(/[_]/g, ' ')
    .replace(/([a-z])([A-Z])/g, '$1 $2')
    .toLowerCase();
}

function tablesInWords(data: ClientExport, salon: Salon, names: ReadonlyMap<string, string>) {
  const value = (column: string, given: unknown): string => {
    if (typeof given === 'number' && /At$|Since$/.test(column)) return moment(salon, given);
    if (typeof given === 'object' && given !== null) return JSON.stringify(given);
    return String(given);
  };
  return Object.entries(data.tables).map(([table, rows]) => ({
    title: inWords(table),
    rows: rows.map((row) =>
      Object.entries(row).flatMap(([column, given]) => {
        if (given === null || given === undefined || given === '') return [];
        if (column === 'id') return [];
        if (!column.endsWith('Id')) return [{ name: inWords(column), value: value(column, given) }];
        const name = names.get(String(given));
        return name ? [{ name: inWords(column.slice(0, -2)), value: name }] : [];
      }),
    ),
  }));
}
