import { Body, Controller, Get, Param, Post, Query } from '@nestjs/common';
import { addDays, DomainError, dateIn, isDate, timeIn } from '../base/index.js';
import { type Appointment, Book, namedSitting, Obstacles, Slots } from '../book/index.js';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, type Problem, renderPage } from '../http/index.js';
import { type Actor, may, type Principal } from '../identity/index.js';
import { Messages } from '../reminders/index.js';
import { Salons } from '../salon/index.js';
import { BookedAhead } from './booked-ahead.js';
import { conflictView } from './conflict-view.js';
import { entryOf } from './day-view.js';
import { dayText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { FreedTimes } from './freed-times.js';
import { Front, serviceOptions, staffOptions } from './front.js';
import { messageRow } from './message-view.js';
import { slotDays } from './slot-view.js';
import { nameOf } from './words.js';

const MINUTE_MS = 60_000;
const DAYS_SHOWN = 7;
const SLOTS_SHOWN = 60;

/** What the desk presses once, and what is said afterwards. */
const PRESSES = {
  arrive: 'has arrived',
  seat: 'is in the chair',
  'un-arrive': 'is booked again, not arrived',
  'no-show': 'is marked as a no-show',
} as const;

/** A page of the book that a form came from and may lead back to. */
function ownBook(back: string | undefined): string | undefined {
  return back !== undefined && /^\/(today|week)(\?[\w=&-]*)?$/.test(back) ? back : undefined;
}

@Controller('appointments/:id')
export class AppointmentPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly clients: Clients,
    private readonly book: Book,
    private readonly slots: Slots,
    private readonly obstacles: Obstacles,
    private readonly ahead: BookedAhead,
    private readonly messages: Messages,
    private readonly freed: FreedTimes,
  ) {}

  @Needs('book.read')
  @Get()
  async appointment(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.show(call, id, openForm());
  }

  @Needs('book.write')
  @Post(':press')
  async press(
    @Called() call: Call,
    @Param('id') id: string,
    @Param('press') press: string,
    @Body() body: unknown,
  ): Promise<void> {
    const { back, ...values } = typedValues(body);
    const setting = await this.front.setting(call.principal);
    await answerForm({
      call,
      values,
      again: (form, problem) =>
        press === 'move' ? this.showMove(call, id, form, problem, back) : this.show(call, id, form),
      work: async () => {
        const { appointment, said } = await this.pressed(press, id, values, call.actor);
        const { givenName, familyName, knownAs } = await this.clients.get(appointment.clientId);
        leaveNotice(call, `${nameOf({ givenName, familyName, knownAs })} ${said}.`);
        // Somebody waits for just such a time: the page of what was cancelled shows who.
        const waits = press === 'cancel' && (await this.freed.of(appointment, setting))?.matches.length;
        const date = dateIn(setting.salon.zone, appointment.startsAt);
        const day = ownBook(back) ?? `/today?date=${date}#a-${id}`;
        await call.redirectTo(waits ? `/appointments/${id}#freed` : day);
      },
    });
  }

  @Needs('book.write')
  @Get('move')
  async moveForm(@Called() call: Call, @Param('id') id: string, @Query() query: unknown): Promise<void> {
    await this.showMove(call, id, openForm(typedValues(query)));
  }

  @Needs('book.write')
  @Get('cancel')
  async cancelForm(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const view = await this.view(call.principal, await this.book.get(id));
    await renderPage(call, 'cancel', { heading: `Cancel ${view.name}’s appointment`, ...view });
  }

  private async pressed(
    press: string,
    id: string,
    values: Readonly<Record<string, string>>,
    actor: Actor,
  ): Promise<{ appointment: Appointment; said: string }> {
    switch (press) {
      case 'arrive':
        return { appointment: await this.book.arrive(id, actor), said: PRESSES.arrive };
      case 'seat':
        return { appointment: await this.book.seat(id, actor), said: PRESSES.seat };
      case 'un-arrive':
        return { appointment: await this.book.unArrive(id, actor), said: PRESSES['un-arrive'] };
      case 'no-show':
        return { appointment: await this.book.noShow(id, actor), said: PRESSES['no-show'] };
      case 'cancel':
        return {
          appointment: await this.book.cancel(id, values, actor),
          said: 'is cancelled; the time is free',
        };
      case 'move':
        return { appointment: await this.book.move(id, values, actor), said: 'is moved' };
      default:
        throw DomainError.notFound('PAGE.NOT_FOUND', 'page');
    }
  }

  private async view(principal: Principal, appointment: Appointment) {
    const setting = await this.front.setting(principal);
    const { salon, now, today } = setting;
    const { startsAt, endsAt } = appointment;
    const client = await this.clients.get(appointment.clientId);
    const services = await this.salons.services(salon.id);
    const service = services.find(({ id }) => id === appointment.serviceId);
    const serviceName = namedSitting(appointment, services);
    const stylist = (await this.salons.staff(salon.id)).find(({ id }) => id === appointment.staffId);
    const bookedAhead = await this.ahead.among([client.id], now);
    const date = dateIn(salon.zone, startsAt);
    const entry = entryOf(
      {
        ...appointment,
        clientName: nameOf(client),
        serviceName,
        serviceKind: service?.kind ?? 'other',
        startTime: timeIn(salon.zone, startsAt),
        endTime: timeIn(salon.zone, endsAt),
      },
      date,
      { now, today, cuts: may(principal.role, 'cut.write'), bookedAhead },
    );
    return {
      setting,
      entry,
      id: appointment.id,
      version: appointment.version,
      bookedAt: appointment.bookedAt,
      name: nameOf(client),
      client,
      service: serviceName,
      stylist: stylist?.name ?? '',
      date,
      on: dayText(date, setting.spoken),
      minutes: (endsAt - startsAt) / MINUTE_MS,
    };
  }

  private async show(call: Call, id: string, form: FormState): Promise<void> {
    const appointment = await this.book.get(id);
    const view = await this.view(call.principal, appointment);
    const { salon, spoken, now } = view.setting;
    const told = may(call.principal.role, 'message.read')
      ? (await this.messages.ofClient(view.client.id)).filter(({ appointmentId }) => appointmentId === id)
      : [];
    await renderPage(call, 'appointment', {
      heading: `${view.name}, ${view.on}`,
      ...view,
      form,
      bookedOn: dayText(dateIn(salon.zone, view.bookedAt), spoken),
      freed: await this.freed.of(appointment, view.setting),
      seriesId: appointment.seriesId,
      frontDesk: true,
      messages: told.map((line) => messageRow(line, salon.zone, spoken, now)),
    });
  }

  private async showMove(
    call: Call,
    id: string,
    form: FormState,
    problem?: Problem,
    back?: string,
  ): Promise<void> {
    const appointment = await this.book.get(id);
    const view = await this.view(call.principal, appointment);
    const { salon, today, spoken } = view.setting;
    const asked = form.values['date'];
    const fromDate = isDate(asked) ? asked : view.date > today ? view.date : today;
    const staffId = form.values['staffId'] ?? '';
    const found = await this.slots.find({
      salonId: salon.id,
      serviceId: appointment.serviceId,
      alsoServiceIds: appointment.alsoServiceIds ?? null,
      ...(staffId && { staffId }),
      preferredStaffId: appointment.staffId,
      fromDate,
      toDate: addDays(fromDate, DAYS_SHOWN - 1),
      minutes: view.minutes,
      limit: SLOTS_SHOWN,
    });
    const standing = { ...appointment, minutes: view.minutes };
    const conflict =
      problem &&
      (await conflictView({ values: form.values, problem, standing }, this.obstacles, salon, spoken));
    await renderPage(call, 'move', {
      heading: `Move ${view.name}’s appointment`,
      ...view,
      conflict: conflict && { ...conflict, action: `/appointments/${id}/move`, version: view.version },
      back: ownBook(back),
      form: { ...form, values: { ...form.values, date: fromDate, staffId } },
      stylists: staffOptions(await this.front.stylists(salon.id)),
      services: serviceOptions(await this.front.services(salon.id)),
      days: slotDays(found, spoken),
      later: addDays(fromDate, DAYS_SHOWN),
    });
  }
}
