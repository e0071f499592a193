import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { dateIn, dateInWords, timeIn } from '../base/index.js';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { type ClientExport, Privacy, Retention } from '../privacy/index.js';
import { type Salon, Salons } from '../salon/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { counted } from './words.js';

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
  async page(@Called() call: Call, @Query('search') search?: unknown): Promise<void> {
    const salon = await this.salons.of(call.principal);
    await this.show(call, salon, typeof search === 'string' ? search.slice(0, 100) : '');
  }

  @Needs('privacy.write')
  @Post('privacy/rules')
  async setRules(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const salon = await this.salons.of(call.principal);
    const { client = '', message = '' } = typedValues(body);
    await answerForm({
      call,
      values: { client, message },
      work: async () => {
        await this.retention.setRules(salon.id, { client, message }, call.actor);
        await call.redirectTo('/privacy');
      },
      again: (form) => this.show(call, salon, '', form),
    });
  }

  @Needs('privacy.write')
  @Post('privacy/apply')
  async apply(@Called() call: Call): Promise<void> {
    const salon = await this.salons.of(call.principal);
    const { clients, messages } = await this.retention.apply(salon.id, call.actor);
    leaveNotice(
      call,
      `Erased: ${counted(clients.length, 'client')}; emptied: ${counted(messages, 'message')}.`,
    );
    await call.redirectTo('/privacy');
  }

  @Get('clients/:id/privacy')
  async client(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.showClient(call, id, openForm({ sure: '' }));
  }

  /** Everything on record, for a machine. */
  @Get('clients/:id/export.json')
  async exportJson(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const data = await this.privacy.export(id, call.actor);
    await call.reply
      .header('content-type', 'application/json; charset=utf-8')
      .header('content-disposition', `attachment; filename="client-${data.clientId}.json"`)
      .send(JSON.stringify(data, null, 2));
  }

  /** Everything on record, for a person. */
  @Get('clients/:id/export')
  async exportPage(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const salon = await this.salons.of(call.principal);
    const data = await this.privacy.export(id, call.actor);
    const [staff, services] = await Promise.all([
      this.salons.staff(salon.id),
      this.salons.services(salon.id),
    ]);
    const names = new Map([...staff, ...services].map((row) => [row.id, row.name]));
    await renderPage(call, 'client-export', {
      heading: 'Everything on record',
      salon,
      on: moment(salon, Date.parse(data.exportedAt)),
      tables: tablesInWords(data, salon, names),
      trail: data.trail.map((line) => ({ ...line, at: moment(salon, line.at) })),
    });
  }

  @Needs('privacy.write')
  @Post('clients/:id/erasure')
  async erase(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const { sure = '' } = typedValues(body);
    await answerForm({
      call,
      values: { sure },
      work: async () => {
        await this.privacy.eraseMeant(id, { sure }, call.actor);
        leaveNotice(call, 'The client is erased.');
        await call.redirectTo('/privacy');
      },
      again: (form) => this.showClient(call, id, form),
    });
  }

  private async show(call: Call, salon: Salon, search: string, form?: FormState): Promise<void> {
    const [rules, plan, found] = await Promise.all([
      this.retention.rules(salon.id),
      this.retention.plan(salon.id),
      search ? this.clients.search(salon.id, search, 20) : [],
    ]);
    await renderPage(call, 'privacy', {
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

  private async showClient(call: Call, id: string, form: FormState): Promise<void> {
    const client = await this.clients.get(id);
    const { salon } = await this.front.setting(call.principal);
    const consents = await this.privacy.consents(id);
    await renderPage(call, 'client-privacy', {
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
