import { Body, Controller, Get, Post, Query } from '@nestjs/common';
import { addDays, dateIn, isDate } from '../base/index.js';
import { Book, Obstacles, type Slot, Slots } from '../book/index.js';
import { type ClientRecord, Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, type Problem, renderPage } from '../http/index.js';
import type { Principal } from '../identity/index.js';
import { type ShapeWindow, Windows } from '../rebooking/index.js';
import type { Service, Staff } from '../salon/index.js';
import { CAUTIONS } from '../skin-tests/index.js';
import { Reader } from '../store/index.js';
import { windowView } from './card-view.js';
import { conflictView } from './conflict-view.js';
import { dayText, momentText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, type Setting, serviceOptions, staffOptions } from './front.js';
import { offeredSlots, slotDays } from './slot-view.js';
import { nameOf, phoneText } from './words.js';

const FOUND_AT_MOST = 20;
const SLOTS_SHOWN = 80;
const BEST_SHOWN = 3;
const DAYS_SHOWN = 7;
/** How far a search goes on when the days that were asked for are full. */
const DAYS_ON = 28;

type Asked = {
  readonly setting: Setting;
  readonly client: ClientRecord;
  readonly window: ShapeWindow | undefined;
  readonly services: readonly Service[];
  readonly stylists: readonly Staff[];
  readonly service: Service | undefined;
  readonly staffId: string;
  readonly date: string;
};

@Controller('book')
export class BookPages {
  constructor(
    private readonly reader: Reader,
    private readonly front: Front,
    private readonly clients: Clients,
    private readonly book: Book,
    private readonly slots: Slots,
    private readonly obstacles: Obstacles,
    private readonly windows: Windows,
  ) {}

  @Needs('book.write')
  @Get()
  async form(@Called() call: Call, @Query() query: unknown): Promise<void> {
    const values = typedValues(query);
    if (values['clientId']) await this.showSlots(call, openForm(values));
    else await this.showClients(call, values);
  }

  @Needs('book.write')
  @Post()
  async booked(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    const { salon, spoken } = await this.front.setting(call.principal);
    await answerForm({
      call,
      values,
      again: (form, problem) => this.showSlots(call, form, problem),
      work: async () => {
        const appointment = await this.book.book(values, call.actor);
        const client = await this.clients.get(appointment.clientId);
        const date = dateIn(salon.zone, appointment.startsAt);
        const when = momentText(appointment.startsAt, salon.zone, spoken);
        leaveNotice(call, `${nameOf(client)} is booked for ${when}.`);
        await call.redirectTo(`/today?date=${date}#a-${appointment.id}`);
      },
    });
  }

  /** First step: for whom. What is already known of the rest is carried along. */
  private async showClients(call: Call, values: Readonly<Record<string, string>>): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const text = (values['q'] ?? '').trim().slice(0, 80);
    const kept = ['staffId', 'serviceId', 'date', 'time'].flatMap((name) =>
      values[name] ? [{ name, value: values[name] }] : [],
    );
    const found = text === '' ? [] : await this.clients.search(salon.id, text, FOUND_AT_MOST);
    await renderPage(call, 'book-client', {
      heading: 'Book: for whom?',
      text,
      asked: text !== '',
      kept,
      carried: new URLSearchParams(kept.map(({ name, value }): [string, string] => [name, value])).toString(),
      found: found.map((client) => ({
        id: client.id,
        name: nameOf(client),
        number: client.phone && phoneText(client.phone),
      })),
      scripts: ['live-search'],
    });
  }

  /** Second step: what, with whom and when; the free times under it are one press each. */
  private async showSlots(call: Call, form: FormState, problem?: Problem): Promise<void> {
    const asked = await this.asked(call.principal, form.values);
    const { setting, client, window, service, staffId, date } = asked;
    const { spoken } = setting;
    const found = service ? await this.find(asked, service) : { slots: [], onlyLater: false };
    const conflict =
      problem && service
        ? await conflictView(
            {
              values: form.values,
              problem,
              standing: {
                salonId: setting.salon.id,
                clientId: client.id,
                staffId,
                serviceId: service.id,
                minutes: service.minutes,
              },
            },
            this.obstacles,
            setting.salon,
            spoken,
          )
        : undefined;
    await renderPage(call, 'book', {
      heading: `Book ${nameOf(client)}`,
      client,
      name: nameOf(client),
      conflict: conflict && { ...conflict, action: '/book', clientId: client.id },
      window: window && windowView(window, setting.ruler, spoken),
      service,
      colour: service?.kind === 'colour',
      cautions: problem?.details['cautions'] ?? (service?.kind === 'colour' ? CAUTIONS : []),
      services: serviceOptions(asked.services),
      stylists: staffOptions(asked.stylists),
      form: { ...form, values: { ...form.values, serviceId: service?.id ?? '', staffId, date } },
      time: form.values['time'] ?? '',
      dateWords: dayText(date, spoken),
      best: offeredSlots(bestOf(found.slots, form.values['time'], client.preferredStaffId), spoken),
      days: slotDays(found.slots, spoken),
      onlyLater: found.onlyLater,
      later: addDays(date, DAYS_SHOWN),
    });
  }

  private async asked(principal: Principal, values: Readonly<Record<string, string>>): Promise<Asked> {
    const setting = await this.front.setting(principal);
    const { salon, today } = setting;
    const client = await this.clients.get(values['clientId'] ?? '');
    const window = await this.windows.of(this.reader.manager, client.id);
    const services = await this.front.services(salon.id);
    const stylists = await this.front.stylists(salon.id);
    const date = isDate(values['date']) ? values['date'] : undefined;
    const soonest = window && window.earliestOn > today ? window.earliestOn : today;
    return {
      setting,
      client,
      window,
      services,
      stylists,
      service:
        services.find(({ id }) => id === values['serviceId']) ??
        services.find(({ kind }) => kind === 'full-cut'),
      staffId: stylists.some(({ id }) => id === values['staffId']) ? (values['staffId'] ?? '') : '',
      date: date ?? soonest,
    };
  }

  /** Best first: near the due date when that lies among the days shown, else by time. */
  private async find(asked: Asked, service: Service): Promise<{ slots: Slot[]; onlyLater: boolean }> {
    const { setting, client, window, staffId, date } = asked;
    const until = addDays(date, DAYS_SHOWN - 1);
    const near = window && window.dueOn >= date && window.dueOn <= until ? window.dueOn : undefined;
    const wish = {
      salonId: setting.salon.id,
      serviceId: service.id,
      ...(staffId && { staffId }),
      ...(client.preferredStaffId && { preferredStaffId: client.preferredStaffId }),
      limit: SLOTS_SHOWN,
    };
    const slots = await this.slots.find({
      ...wish,
      fromDate: date,
      toDate: until,
      ...(near && { nearDate: near }),
    });
    if (slots.length > 0) return { slots, onlyLater: false };
    const later = { fromDate: addDays(until, 1), toDate: addDays(until, DAYS_ON) };
    return { slots: await this.slots.find({ ...wish, ...later }), onlyLater: true };
  }
}

/**
 * A time that was asked for, then the best of different half-days: as they are ranked near a due date, else the
 * preferred stylist's before the others'.
 */
function bestOf(slots: readonly Slot[], time: string | undefined, preferred: string | null): Slot[] {
  const asked = slots.filter((slot) => slot.time === time).slice(0, 1);
  const ranked = [...slots].sort((a, b) => Number(b.staffId === preferred) - Number(a.staffId === preferred));
  const halfDays = new Set<string>();
  const spread = ranked.filter((slot) => {
    const halfDay = `${slot.date} ${slot.time < '12:00'}`;
    if (halfDays.has(halfDay) || asked.includes(slot)) return false;
    halfDays.add(halfDay);
    return true;
  });
  return [...asked, ...spread].slice(0, BEST_SHOWN);
}
