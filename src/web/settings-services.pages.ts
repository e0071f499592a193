import { Body, Controller, Get, Param, Post, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { DomainError } from '../base/index.js';
import { ZONES } from '../engine/zones.js';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
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
  async services(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    await renderPage(request, reply, 'settings-services', {
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
  async newService(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    await this.showService(request, reply, principal, openForm(NEW));
  }

  @Get('services/:id')
  async service(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const service = await this.one(salon.id, id);
    await this.showService(request, reply, principal, openForm(serviceValues(service, salon)), id);
  }

  @Post('services')
  async addService(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await this.save(request, reply, principal, actor, body);
  }

  @Post('services/:id')
  async changeService(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
    @Body() body: unknown,
  ): Promise<void> {
    await this.save(request, reply, principal, actor, body, id);
  }

  @Needs('salon.read')
  @Get('resources')
  async places(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    await this.showPlaces(request, reply, principal, openForm());
  }

  @Post('resources')
  async addPlace(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const values = typedValues(body);
    const { salon } = await this.front.setting(principal);
    await answerForm({
      reply,
      values,
      again: (form) => this.showPlaces(request, reply, principal, form),
      work: async () => {
        const { name } = await this.resources.add(salon.id, values, actor);
        leaveNotice(request, reply, `${name} is added.`);
        await reply.redirect('/settings/resources', 303);
      },
    });
  }

  @Post('resources/:id')
  async changePlace(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
    @Body() body: unknown,
  ): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      reply,
      values: {},
      again: (form) => this.showPlaces(request, reply, principal, form),
      work: async () => {
        const { name, active } = await this.resources.change(id, values, actor);
        const words = active ? 'is saved' : 'is out of use; what is booked on it stays booked';
        leaveNotice(request, reply, `${name} ${words}.`);
        await reply.redirect('/settings/resources', 303);
      },
    });
  }

  private async one(salonId: string, id: string): Promise<Service> {
    const service = (await this.salons.services(salonId)).find((one) => one.id === id);
    if (!service) throw DomainError.notFound('SERVICE.NOT_FOUND', 'service');
    return service;
  }

  private async save(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    actor: Actor,
    body: unknown,
    id?: string,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    if (id !== undefined) await this.one(salon.id, id);
    const values = typedValues(body);
    let rename: ((field: string) => string) | undefined;
    await answerForm({
      reply,
      values,
      rename: (field) => rename?.(field) ?? field,
      again: (form) => this.showService(request, reply, principal, form, id),
      work: async () => {
        const read = readService(values, salon, ZONES);
        rename = read.rename;
        const { name } = id
          ? await this.salons.changeService(id, read.input, actor)
          : await this.salons.addService(salon.id, read.input, actor);
        leaveNotice(request, reply, `${name} is saved. What is booked keeps its length.`);
        await reply.redirect('/settings/services', 303);
      },
    });
  }

  private async showService(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
    id?: string,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const [staff, services] = [await this.salons.staff(salon.id), await this.salons.services(salon.id)];
    await renderPage(request, reply, 'settings-service', {
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

  private async showPlaces(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const all = await this.resources.of(salon.id);
    const inUse = all.filter(({ active }) => active);
    await renderPage(request, reply, 'settings-resources', {
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
