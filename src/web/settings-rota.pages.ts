import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { addDays, DomainError, dateIn, isDate, timeIn } from '../base/index.js';
import { Strays } from '../book/index.js';
import { Clients } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { type Closure, RotaChanges, Salons } from '../salon/index.js';
import { dayText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, type Setting, staffOptions } from './front.js';
import { weekdayOptions } from './waiting-view.js';
import { readStretches, readWeek, stretchesText, weekField, weekValues } from './week-text.js';
import { nameOf } from './words.js';

/** Changes and closures are shown this far ahead. */
const AHEAD_DAYS = 400;

/** Who works when: weeks, single days, days off and holidays; and what is booked outside of that. */
@Needs('rota.write')
@Controller('settings')
export class SettingsRotaPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly changes: RotaChanges,
    private readonly clients: Clients,
    private readonly strays: Strays,
  ) {}

  @Get('staff/:id/rota')
  async rota(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.showRota(call, id, openForm());
  }

  @Post('staff/:id/rota')
  async saveWeek(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const staff = await this.salons.member(salon.id, id);
    const values = typedValues(body);
    const names = weekdayOptions(salon.locale, 'long').map(({ label }) => label);
    let week: ReturnType<typeof readWeek> = [];
    await answerForm({
      call,
      values,
      rename: (field) => weekField(week, field),
      again: (form) => this.showRota(call, id, form),
      work: async () => {
        week = readWeek(values, names);
        const entries = week.map(({ weekday, from, to }) => ({ weekday, startsAt: from, endsAt: to }));
        await this.salons.setRota(id, { entries }, call.actor);
        leaveNotice(call, `The week of ${staff.name} is saved.`);
        await call.redirectTo(`/settings/staff/${id}/rota`);
      },
    });
  }

  @Post('staff/:id/day')
  async saveDay(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const { salon, spoken } = await this.front.setting(call.principal);
    const staff = await this.salons.member(salon.id, id);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      rename: (field) => (field.startsWith('entries') ? 'hours' : field),
      again: (form) => this.showRota(call, id, form),
      work: async () => {
        const entries = readStretches(values['hours'] ?? '', 'hours', 'Hours').map(({ from, to }) => ({
          startsAt: from,
          endsAt: to,
        }));
        const onDate = values['onDate'] ?? '';
        await this.changes.set(id, { onDate, entries }, call.actor);
        const words = entries.length === 0 ? 'is off' : `works ${values['hours']}`;
        leaveNotice(call, `${staff.name} ${words} on ${dayText(onDate, spoken)}.`);
        await call.redirectTo(`/settings/staff/${id}/rota`);
      },
    });
  }

  @Post('staff/:id/day/clear')
  async clearDay(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const { salon, spoken } = await this.front.setting(call.principal);
    const staff = await this.salons.member(salon.id, id);
    const date = typedValues(body)['onDate'];
    if (!isDate(date)) throw DomainError.invalid('INPUT.INVALID', 'onDate', 'Day: give a date.');
    await this.changes.clear(id, date, call.actor);
    leaveNotice(call, `On ${dayText(date, spoken)} the week of ${staff.name} counts again.`);
    await call.redirectTo(`/settings/staff/${id}/rota`);
  }

  @Needs('salon.read')
  @Get('closures')
  async closures(@Called() call: Call): Promise<void> {
    await this.showClosures(call, openForm());
  }

  @Post('closures')
  async addClosure(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showClosures(call, form),
      work: async () => {
        const { staffId, startsOn, endsOn, reason } = values;
        const wanted = { staffId, startsOn, endsOn: endsOn || startsOn, reason };
        await this.salons.addClosure(salon.id, wanted, call.actor);
        leaveNotice(call, 'Saved. Nothing more is offered then; what is booked stays booked.');
        await call.redirectTo('/settings/closures');
      },
    });
  }

  @Post('closures/:id/remove')
  async removeClosure(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.salons.removeClosure(id, call.actor);
    leaveNotice(call, 'Removed: those days are worked again.');
    await call.redirectTo('/settings/closures');
  }

  private async showRota(call: Call, id: string, form: FormState): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { salon, today, spoken } = setting;
    const staff = await this.salons.member(salon.id, id);
    const rota = await this.salons.rota(id);
    const week = weekValues(
      rota.map(({ weekday, startsAt, endsAt }) => ({ weekday, from: startsAt, to: endsAt })),
    );
    const until = addDays(today, AHEAD_DAYS);
    const changes = await this.changes.of(id, today, until);
    const closures = await this.salons.closures(salon.id, today, until);
    await renderPage(call, 'settings-rota', {
      heading: `When ${staff.name} works`,
      id,
      name: staff.name,
      form: { ...form, values: { ...week, ...form.values } },
      days: weekdayOptions(salon.locale, 'long'),
      changes: [...new Set(changes.map(({ onDate }) => onDate))].map((date) => {
        const stretches = changes.flatMap(({ onDate, startsAt, endsAt }) =>
          onDate === date && startsAt && endsAt ? [{ from: startsAt, to: endsAt }] : [],
        );
        return { date, on: dayText(date, spoken), hours: stretchesText(stretches) || 'off' };
      }),
      closures: closures
        .filter(({ staffId }) => staffId === null || staffId === id)
        .map((closure) => closureRow(closure, '', setting)),
      strays: await this.strayRows(setting, id),
    });
  }

  private async showClosures(call: Call, form: FormState): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const { salon, today } = setting;
    const staff = await this.salons.staff(salon.id);
    const closures = await this.salons.closures(salon.id, today, addDays(today, AHEAD_DAYS));
    const nameOfStaff = (id: string | null) => staff.find((one) => one.id === id)?.name ?? 'The whole salon';
    await renderPage(call, 'settings-closures', {
      heading: 'Days off, holidays and closures',
      form,
      staff: staffOptions(staff.filter(({ active }) => active)),
      closures: closures.map((closure) => closureRow(closure, nameOfStaff(closure.staffId), setting)),
      strays: await this.strayRows(setting),
    });
  }

  /** Appointments that lie outside working hours, to be moved. */
  private async strayRows({ salon, spoken }: Setting, staffId?: string) {
    const staff = await this.salons.staff(salon.id);
    const rows = [];
    for (const { id, clientId, startsAt, ...stray } of await this.strays.ahead(salon.id, staffId)) {
      const date = dateIn(salon.zone, startsAt);
      rows.push({
        id,
        name: nameOf(await this.clients.get(clientId)),
        when: `${dayText(date, spoken)}, ${timeIn(salon.zone, startsAt)}`,
        stylist: staff.find((one) => one.id === stray.staffId)?.name ?? '',
      });
    }
    return rows;
  }
}

function closureRow({ id, startsOn, endsOn, reason }: Closure, who: string, { spoken }: Setting) {
  const days =
    startsOn === endsOn
      ? dayText(startsOn, spoken)
      : `${dayText(startsOn, spoken)} to ${dayText(endsOn, spoken)}`;
  return { id, days, reason, who };
}
