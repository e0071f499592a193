import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { addDays } from '../base/index.js';
import { Book, type WaitingEntry, WaitingList, WaitingOffers } from '../book/index.js';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { momentText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, serviceOptions, staffOptions } from './front.js';
import { waitingRow, weekdayOptions } from './waiting-view.js';
import { counted, nameOf, phoneText } from './words.js';

const FOUND_AT_MOST = 20;
const USUAL_DAYS = 14;

type Values = Readonly<Record<string, string>>;

/** Who would come sooner, or at a time that was taken: for what, with whom, when. */
@Needs('book.write')
@Controller()
export class WaitingPages {
  constructor(
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly book: Book,
    private readonly list: WaitingList,
    private readonly offers: WaitingOffers,
  ) {}

  @Needs('book.read')
  @Get('waiting')
  async all(@Called() call: Call): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const lines = await this.list.of(setting.salon.id);
    await renderPage(call, 'waiting', {
      heading: 'Waiting list',
      frontDesk: true,
      count: counted(lines.length, 'client'),
      rows: lines.map((line) => waitingRow(line, setting)),
    });
  }

  @Get('waiting/new')
  async add(@Called() call: Call, @Query() query: unknown): Promise<void> {
    const values = typedValues(query);
    if (!values['clientId']) {
      await this.showClients(call, (values['q'] ?? '').trim().slice(0, 80));
      return;
    }
    const { today, salon } = await this.front.setting(call.principal);
    const full = (await this.front.services(salon.id)).find(({ kind }) => kind === 'full-cut');
    const given = {
      serviceId: full?.id ?? '',
      fromDate: today,
      toDate: addDays(today, USUAL_DAYS),
      ...values,
    };
    await this.showForm(call, openForm(given));
  }

  @Post('waiting')
  async added(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showForm(call, form),
      work: async () => {
        const { id, clientId } = await this.list.add(wishOf(values), call.actor);
        leaveNotice(call, `${nameOf(await this.clients.get(clientId))} is on the waiting list.`);
        await call.redirectTo(`/waiting#w-${id}`);
      },
    });
  }

  @Get('waiting/:id')
  async edit(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.showForm(call, openForm(valuesOf(await this.list.get(id))), id);
  }

  @Post('waiting/:id')
  async edited(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const { clientId } = await this.list.get(id);
    const values = { ...typedValues(body), clientId };
    await answerForm({
      call,
      values,
      again: (form) => this.showForm(call, form, id),
      work: async () => {
        await this.list.change(id, wishOf(values), call.actor);
        leaveNotice(call, 'Saved.');
        await call.redirectTo(`/waiting#w-${id}`);
      },
    });
  }

  @Post('waiting/:id/remove')
  async remove(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { clientId } = await this.list.get(id);
    await this.list.remove(id, call.actor);
    leaveNotice(call, `${nameOf(await this.clients.get(clientId))} no longer waits.`);
    await call.redirectTo('/waiting');
  }

  /** She said yes by telephone. */
  @Post('waiting/:id/take')
  async take(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const { salon, spoken } = await this.front.setting(call.principal);
    const {
      id: appointmentId,
      clientId,
      startsAt,
    } = await this.offers.take(id, typedValues(body), call.actor);
    const name = nameOf(await this.clients.get(clientId));
    leaveNotice(call, `${name} is booked for ${momentText(startsAt, salon.zone, spoken)}.`);
    await call.redirectTo(`/appointments/${appointmentId}`);
  }

  /** Offers the time that an appointment gave free to some of those who wait for one. */
  @Post('appointments/:id/offer')
  async offer(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const { salonId, staffId, startsAt, endsAt } = await this.book.get(id);
    const entryIds = (typedValues(body)['entryIds'] ?? '').split(',').filter(Boolean);
    const made = await this.offers.offer(salonId, { staffId, startsAt, endsAt, entryIds }, call.actor);
    const names = [];
    for (const { offer } of made) names.push(nameOf(await this.clients.get(offer.clientId)));
    leaveNotice(call, `Offered to ${names.join(', ')}. The first to accept has it.`);
    await call.redirectTo(`/appointments/${id}#freed`);
  }

  private async showClients(call: Call, text: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const found = text === '' ? [] : await this.clients.search(salon.id, text, FOUND_AT_MOST);
    await renderPage(call, 'waiting-client', {
      heading: 'Waiting list: who waits?',
      text,
      asked: text !== '',
      found: found.map((client) => ({
        id: client.id,
        name: nameOf(client),
        number: client.phone && phoneText(client.phone),
      })),
      scripts: ['live-search'],
    });
  }

  private async showForm(call: Call, form: FormState, id?: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const client = await this.clients.get(form.values['clientId'] ?? '');
    await renderPage(call, 'waiting-form', {
      heading: `${nameOf(client)} waits`,
      frontDesk: true,
      id,
      client,
      form,
      services: serviceOptions(await this.front.services(salon.id)),
      stylists: staffOptions(await this.front.stylists(salon.id)),
      weekdays: weekdayOptions(salon.locale),
    });
  }
}

function valuesOf(entry: WaitingEntry): Record<string, string> {
  const { clientId, serviceId, staffId, fromDate, toDate, weekdays, timeFrom, timeTo, notes, version } =
    entry;
  return {
    clientId,
    serviceId,
    staffId: staffId ?? '',
    fromDate,
    toDate,
    timeFrom: timeFrom ?? '',
    timeTo: timeTo ?? '',
    notes,
    expectedVersion: String(version),
    ...Object.fromEntries((weekdays ?? []).map((day) => [`weekday.${day}`, 'true'])),
  };
}

/** The form as the waiting list takes it; no weekday ticked means any. */
function wishOf(values: Values) {
  const weekdays = [1, 2, 3, 4, 5, 6, 7].filter((day) => values[`weekday.${day}`] === 'true');
  const rest = Object.fromEntries(Object.entries(values).filter(([name]) => !name.startsWith('weekday.')));
  return { ...rest, weekdays };
}
