import { Body, Controller, Get, Param, Post, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { type ClientRecord, Clients, type PossibleDouble } from '../clients/index.js';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import { type Actor, may, type Principal } from '../identity/index.js';
import { answerForm, type FormState, nested, openForm, typedValues } from './forms.js';
import { Front, staffOptions } from './front.js';
import { guessedClient } from './guessed-client.js';
import { languageOptions } from './languages.js';
import { nameOf, optionsOf, phoneText } from './words.js';

const FOUND_AT_MOST = 50;

const CHOICES = {
  whorls: optionsOf({ left: 'left', right: 'right', middle: 'middle' }),
  partings: optionsOf({ left: 'left', right: 'right', middle: 'middle', none: 'none' }),
  ancestries: optionsOf({ african: 'African', asian: 'Asian', european: 'European' }),
  ages: optionsOf({
    'before-puberty': 'before puberty',
    'young-adult': 'young adult',
    'mature-adult': 'mature adult',
    'older-adult': 'older adult',
  }),
  textures: optionsOf({ straight: 'straight', wavy: 'wavy', curly: 'curly', coily: 'coily' }),
};

const FIELDS = [
  'givenName',
  'familyName',
  'knownAs',
  'phone',
  'email',
  'language',
  'birthday',
  'preferredStaffId',
  'notes',
  'headCircumferenceMm',
  'whorlSide',
  'partingSide',
] as const;

function valuesOf(client: ClientRecord): Record<string, string> {
  const values = Object.fromEntries(FIELDS.map((field) => [field, String(client[field] ?? '')]));
  const { ancestry, age, texture } = client.statedHair ?? {};
  return {
    ...values,
    'statedHair.ancestry': ancestry ?? '',
    'statedHair.age': age ?? '',
    'statedHair.texture': texture ?? '',
    expectedVersion: String(client.version),
  };
}

function doublesNotice(doubles: readonly PossibleDouble[]): string {
  if (doubles.length === 0) return '';
  return ` Please check: ${doubles.map(({ name }) => name).join(', ')} may be the same person.`;
}

@Controller('clients')
export class ClientsPages {
  constructor(
    private readonly clients: Clients,
    private readonly front: Front,
  ) {}

  @Needs('client.read')
  @Get()
  async list(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query('q') typed?: string,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const text = typeof typed === 'string' ? typed.trim().slice(0, 80) : '';
    const found = text === '' ? [] : await this.clients.search(salon.id, text, FOUND_AT_MOST);
    await renderPage(request, reply, 'clients', {
      heading: 'Clients',
      text,
      asked: text !== '',
      found: found.map((client) => ({
        id: client.id,
        name: nameOf(client),
        number: client.phone && phoneText(client.phone),
      })),
      full: found.length === FOUND_AT_MOST,
      scripts: ['live-search'],
    });
  }

  @Needs('client.write')
  @Get('new')
  async add(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query('q') typed?: string,
  ): Promise<void> {
    const text = typeof typed === 'string' ? typed.trim().slice(0, 80) : '';
    await this.showForm(request, reply, principal, openForm(guessedClient(text)));
  }

  @Needs('client.write')
  @Post('new')
  async added(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      reply,
      values,
      again: (form) => this.showForm(request, reply, principal, form),
      work: async () => {
        const { salon } = await this.front.setting(principal);
        const { client, possibleDoubles } = await this.clients.add(
          { ...nested(values), salonId: salon.id },
          actor,
        );
        leaveNotice(request, reply, `${nameOf(client)} is added.${doublesNotice(possibleDoubles)}`);
        await reply.redirect(`/clients/${client.id}`, 303);
      },
    });
  }

  @Needs('client.write')
  @Get(':id/edit')
  async edit(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    const client = await this.clients.get(id);
    const values = valuesOf(client);
    if (may(principal.role, 'client.health')) {
      values['healthNotes'] = await this.clients.healthNotes(id, actor);
    }
    await this.showForm(request, reply, principal, openForm(values), client);
  }

  @Needs('client.write')
  @Post(':id/edit')
  async edited(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
    @Body() body: unknown,
  ): Promise<void> {
    const before = await this.clients.get(id);
    const values = typedValues(body);
    await answerForm({
      reply,
      values,
      again: (form) => this.showForm(request, reply, principal, form, before),
      work: async () => {
        const { client, possibleDoubles } = await this.clients.change(id, nested(values), actor);
        leaveNotice(request, reply, `${nameOf(client)} is saved.${doublesNotice(possibleDoubles)}`);
        await reply.redirect(`/clients/${client.id}`, 303);
      },
    });
  }

  private async showForm(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
    client?: ClientRecord,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    await renderPage(request, reply, 'client-form', {
      heading: client ? `Change ${nameOf(client)}` : 'Add a client',
      action: client ? `/clients/${client.id}/edit` : '/clients/new',
      back: client ? `/clients/${client.id}` : '/clients',
      form,
      ...CHOICES,
      languages: languageOptions(form.values['language']),
      stylists: staffOptions(await this.front.stylists(salon.id)),
    });
  }
}
