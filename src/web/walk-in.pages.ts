import { Body, Controller, Get, Post, Query, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { timeIn } from '../base/index.js';
import { type Slot, WalkIns } from '../book/index.js';
import { Clients } from '../clients/index.js';
import { By, leaveNotice, Needs, type Problem, renderPage, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, serviceOptions, staffOptions } from './front.js';
import { guessedClient } from './guessed-client.js';
import { offeredSlots } from './slot-view.js';
import { nameOf, phoneText } from './words.js';

const FOUND_AT_MOST = 6;

/** The form as the book takes it: the button says whom, and of times to wait for which. */
function walkInOf(values: Readonly<Record<string, string>>, salonId: string): Record<string, string> {
  const { clientId, givenName, familyName, phone, serviceId, staffId, at } = values;
  const [waitsFor, startsAt] = (at ?? '').split(' ');
  const who = clientId ? { clientId } : { givenName, familyName, phone };
  const wanted = { ...who, serviceId, staffId: waitsFor || staffId, startsAt };
  const given = Object.entries(wanted).filter((entry): entry is [string, string] => Boolean(entry[1]));
  return { salonId, ...Object.fromEntries(given) };
}

/** Somebody stands at the desk without an appointment: found or made, given a chair and marked as here in one press. */
@Controller('walk-in')
export class WalkInPages {
  constructor(
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly walkIns: WalkIns,
  ) {}

  @Needs('book.write')
  @Get()
  async form(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Query() query: unknown,
  ): Promise<void> {
    await this.show(request, reply, principal, openForm(typedValues(query)));
  }

  @Needs('book.write')
  @Post()
  async taken(
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
      again: (form, problem) => this.show(request, reply, principal, form, problem),
      work: async () => {
        const { appointment, client } = await this.walkIns.take(walkInOf(values, salon.id), actor);
        const stylist = (await this.front.stylists(salon.id)).find(({ id }) => id === appointment.staffId);
        const from = timeIn(salon.zone, appointment.startsAt);
        leaveNotice(request, reply, `${nameOf(client)} is here, with ${stylist?.name ?? ''} from ${from}.`);
        await reply.redirect(`/today#a-${appointment.id}`, 303);
      },
    });
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
    problem?: Problem,
  ): Promise<void> {
    const { salon, today, spoken } = await this.front.setting(principal);
    const text = (form.values['q'] ?? '').trim().slice(0, 80);
    const services = await this.front.services(salon.id);
    const usual = services.find(({ kind }) => kind === 'full-cut') ?? services[0];
    const { clientId } = form.values;
    const chosen = clientId && problem ? await this.clients.get(clientId) : undefined;
    const found = text === '' || chosen ? [] : await this.clients.search(salon.id, text, FOUND_AT_MOST);
    const stylists = await this.front.stylists(salon.id);
    const service = services.find(({ id }) => id === form.values['serviceId']) ?? usual;
    const stylist = stylists.find(({ id }) => id === form.values['staffId']);
    const next = (problem?.details['nextFree'] as readonly Slot[] | undefined) ?? [];
    await renderPage(request, reply, 'walk-in', {
      heading: 'Walk-in',
      text,
      asked: text !== '',
      chosen: chosen && { id: chosen.id, name: nameOf(chosen) },
      found: found.map((client) => ({
        id: client.id,
        name: nameOf(client),
        number: client.phone && phoneText(client.phone),
      })),
      services: serviceOptions(services),
      stylists: staffOptions(stylists),
      takenFor: `${service?.name ?? ''}, ${stylist?.name ?? 'whoever is free first'}`,
      form: {
        ...form,
        values: {
          ...guessedClient(text),
          ...form.values,
          serviceId: service?.id ?? '',
          staffId: stylist?.id ?? '',
        },
      },
      keep: ['q', 'clientId', 'givenName', 'familyName', 'phone', 'serviceId'].flatMap((name) =>
        form.values[name] ? [{ name, value: form.values[name] }] : [],
      ),
      waits: offeredSlots(next, spoken).map((slot) => ({
        ...slot,
        when: slot.date === today ? slot.time : `${slot.words}, ${slot.time}`,
      })),
      scripts: ['live-search', 'walk-in'],
    });
  }
}
