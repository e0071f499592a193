import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { type ClientRecord, Clients, type PossibleDouble } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { may } from '../identity/index.js';
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
  async list(@Called() call: Call, @Query('q') typed?: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const text = typeof typed === 'string' ? typed.trim().slice(0, 80) : '';
    const found = text === '' ? [] : await this.clients.search(salon.id, text, FOUND_AT_MOST);
    await renderPage(call, 'clients', {
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
  async add(@Called() call: Call, @Query('q') typed?: string): Promise<void> {
    const text = typeof typed === 'string' ? typed.trim().slice(0, 80) : '';
    await this.showForm(call, openForm(guessedClient(text)));
  }

  @Needs('client.write')
  @Post('new')
  async added(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showForm(call, form),
      work: async () => {
        const { salon } = await this.front.setting(call.principal);
        const { client, possibleDoubles } = await this.clients.add(
          { ...nested(values), salonId: salon.id },
          call.actor,
        );
        leaveNotice(call, `${nameOf(client)} is added.${doublesNotice(possibleDoubles)}`);
        await call.redirectTo(`/clients/${client.id}`);
      },
    });
  }

  @Needs('client.write')
  @Get(':id/edit')
  async edit(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const client = await this.clients.get(id);
    const values = valuesOf(client);
    if (may(call.principal.role, 'client.health')) {
      values['healthNotes'] = await this.clients.healthNotes(id, call.actor);
    }
    await this.showForm(call, openForm(values), client);
  }

  @Needs('client.write')
  @Post(':id/edit')
  async edited(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const before = await this.clients.get(id);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showForm(call, form, before),
      work: async () => {
        const { client, possibleDoubles } = await this.clients.change(id, nested(values), call.actor);
        leaveNotice(call, `${nameOf(client)} is saved.${doublesNotice(possibleDoubles)}`);
        await call.redirectTo(`/clients/${client.id}`);
      },
    });
  }

  private async showForm(call: Call, form: FormState, client?: ClientRecord): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    await renderPage(call, 'client-form', {
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
