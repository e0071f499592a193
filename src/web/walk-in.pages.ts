import { Body, Controller, Get, Post, Query } from '@nestjs/common';
import { timeIn } from '../base/index.js';
import { type Slot, WalkIns } from '../book/index.js';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, type Problem, renderPage } from '../http/index.js';
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
  async form(@Called() call: Call, @Query() query: unknown): Promise<void> {
    await this.show(call, openForm(typedValues(query)));
  }

  @Needs('book.write')
  @Post()
  async taken(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    const { salon } = await this.front.setting(call.principal);
    await answerForm({
      call,
      values,
      again: (form, problem) => this.show(call, form, problem),
      work: async () => {
        const { appointment, client } = await this.walkIns.take(walkInOf(values, salon.id), call.actor);
        const stylist = (await this.front.stylists(salon.id)).find(({ id }) => id === appointment.staffId);
        const from = timeIn(salon.zone, appointment.startsAt);
        leaveNotice(call, `${nameOf(client)} is here, with ${stylist?.name ?? ''} from ${from}.`);
        await call.redirectTo(`/today#a-${appointment.id}`);
      },
    });
  }

  private async show(call: Call, form: FormState, problem?: Problem): Promise<void> {
    const { salon, today, spoken } = await this.front.setting(call.principal);
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
    await renderPage(call, 'walk-in', {
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
