import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { ZONES } from '../engine/zones.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { Resources, Salons, type Service } from '../salon/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import {
  ACTIVITY_WORDS,
  knownSkills,
  RESOURCE_OPTIONS,
  RESOURCE_WORDS,
  readService,
  serviceValues,
  stepRows,
  stepsText,
} from './settings-view.js';
import { counted, optionsOf, SERVICE_WORDS, ZONE_OPTIONS, ZONE_WORDS } from './words.js';

const NEW = { kind: 'full-cut', active: 'true' };

/** What is offered, and the chairs, basins and rooms it takes. */
@Needs('salon.write')
@Controller('settings')
export class SettingsServicesPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly resources: Resources,
  ) {}

  @Needs('salon.read')
  @Get('services')
  async services(@Called() call: Call): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    await renderPage(call, 'settings-services', {
      heading: 'Services',
      currency: salon.currency,
      services: (await this.salons.services(salon.id)).map((service) => ({
        ...service,
        words: [
          SERVICE_WORDS[service.kind],
          service.zones.map((zone) => ZONE_WORDS[zone].toLowerCase()).join(', '),
          stepsText(service.steps),
          service.resources?.map((kind) => RESOURCE_WORDS[kind]).join(', '),
          service.skills?.length ? `needs ${service.skills.join(', ')}` : '',
        ]
          .filter(Boolean)
          .join(' · '),
      })),
    });
  }

  @Get('services/new')
  async newService(@Called() call: Call): Promise<void> {
    await this.showService(call, openForm(NEW));
  }

  @Get('services/:id')
  async service(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const service = await this.one(salon.id, id);
    await this.showService(call, openForm(serviceValues(service, salon)), id);
  }

  @Post('services')
  async addService(@Called() call: Call, @Body() body: unknown): Promise<void> {
    await this.save(call, body);
  }

  @Post('services/:id')
  async changeService(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    await this.save(call, body, id);
  }

  @Needs('salon.read')
  @Get('resources')
  async places(@Called() call: Call): Promise<void> {
    await this.showPlaces(call, openForm());
  }

  @Post('resources')
  async addPlace(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    const { salon } = await this.front.setting(call.principal);
    await answerForm({
      call,
      values,
      again: (form) => this.showPlaces(call, form),
      work: async () => {
        const { name } = await this.resources.add(salon.id, values, call.actor);
        leaveNotice(call, `${name} is added.`);
        await call.redirectTo('/settings/resources');
      },
    });
  }

  @Post('resources/:id')
  async changePlace(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      call,
      values: {},
      again: (form) => this.showPlaces(call, form),
      work: async () => {
        const { name, active } = await this.resources.change(id, values, call.actor);
        const words = active ? 'is saved' : 'is out of use; what is booked on it stays booked';
        leaveNotice(call, `${name} ${words}.`);
        await call.redirectTo('/settings/resources');
      },
    });
  }

  private async one(salonId: string, id: string): Promise<Service> {
    const service = (await this.salons.services(salonId)).find((one) => one.id === id);
    if (!service) throw DomainError.notFound('SERVICE.NOT_FOUND', 'service');
    return service;
  }

  private async save(call: Call, body: unknown, id?: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    if (id !== undefined) await this.one(salon.id, id);
    const values = typedValues(body);
    let rename: ((field: string) => string) | undefined;
    await answerForm({
      call,
      values,
      rename: (field) => rename?.(field) ?? field,
      again: (form) => this.showService(call, form, id),
      work: async () => {
        const read = readService(values, salon, ZONES);
        rename = read.rename;
        const { name } = id
          ? await this.salons.changeService(id, read.input, call.actor)
          : await this.salons.addService(salon.id, read.input, call.actor);
        leaveNotice(call, `${name} is saved. What is booked keeps its length.`);
        await call.redirectTo('/settings/services');
      },
    });
  }

  private async showService(call: Call, form: FormState, id?: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const [staff, services] = [await this.salons.staff(salon.id), await this.salons.services(salon.id)];
    await renderPage(call, 'settings-service', {
      heading: id ? (services.find((one) => one.id === id)?.name ?? 'Service') : 'New service',
      frontDesk: true,
      id,
      form,
      currency: salon.currency,
      kinds: optionsOf(SERVICE_WORDS),
      zones: ZONE_OPTIONS,
      resources: RESOURCE_OPTIONS,
      activities: optionsOf(ACTIVITY_WORDS),
      steps: stepRows(form.values),
      skills: knownSkills(staff, services),
    });
  }

  private async showPlaces(call: Call, form: FormState): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const all = await this.resources.of(salon.id);
    const inUse = all.filter(({ active }) => active);
    await renderPage(call, 'settings-resources', {
      heading: 'Chairs, basins and rooms',
      form,
      kinds: RESOURCE_OPTIONS,
      count: RESOURCE_OPTIONS.map(({ value, label }) =>
        counted(inUse.filter(({ kind }) => kind === value).length, label),
      ).join(', '),
      resources: all.map((one) => ({ ...one, words: RESOURCE_WORDS[one.kind] })),
    });
  }
}
