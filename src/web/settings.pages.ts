import { Body, Controller, Get, Inject, Post } from '@nestjs/common';
import { Call, Called, giveToken, leaveNotice, Needs, renderPage, SALON_COOKIE } from '../http/index.js';
import { Salons, UNITS, USUAL_NOTICE_HOURS } from '../salon/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { weekdayOptions } from './waiting-view.js';
import { readWeek, weekField, weekValues } from './week-text.js';
import { phoneText } from './words.js';

const FIELDS = [
  'name',
  'address',
  'phone',
  'email',
  'zone',
  'units',
  'currency',
  'locale',
  'phoneRegion',
  'skinTestValidDays',
] as const;
/** A year: the choice of a salon is no secret. */
const KEPT_SECONDS = 365 * 86_400;
const UNIT_OPTIONS = UNITS.map((unit) => ({ value: unit, label: unit }));

/** The salon itself: name, notice, opening hours; and the way to everything else that is set once. */
@Needs('salon.read')
@Controller('settings')
export class SettingsPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  @Get()
  async overview(@Called() call: Call): Promise<void> {
    await this.showOverview(call, openForm());
  }

  /** Which salon this browser looks at from now on. */
  @Post('choice')
  async choose(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { id } = await this.salons.of({ ...call.principal, salonId: typedValues(body)['salonId'] ?? '' });
    giveToken(call.reply, this.settings, SALON_COOKIE, id, KEPT_SECONDS);
    await call.redirectTo('/today');
  }

  /** Another salon of the same owner; what is not asked is as here. */
  @Needs('salon.write')
  @Post('salons')
  async addSalon(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showOverview(call, form),
      work: async () => {
        const { id, name } = await this.salons.addLike(salon.id, values, call.actor);
        giveToken(call.reply, this.settings, SALON_COOKIE, id, KEPT_SECONDS);
        leaveNotice(call, `${name} is added. Now its opening hours, services and staff.`);
        await call.redirectTo('/settings');
      },
    });
  }

  private async showOverview(call: Call, form: FormState): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const salons = await this.salons.openTo(call.principal);
    const names = weekdayOptions(salon.locale, 'long');
    const hours = (await this.salons.hours(salon.id)).map(({ weekday, opensAt, closesAt }) => ({
      weekday,
      from: opensAt,
      to: closesAt,
    }));
    const week = weekValues(hours);
    await renderPage(call, 'settings', {
      heading: 'Settings',
      form: { ...form, values: { zone: salon.zone, ...form.values } },
      salons: salons.length > 1 && salons.map(({ id, name }) => ({ id, name, here: id === salon.id })),
      salon,
      phone: phoneText(salon.phone),
      noticeHours: salon.cancelNoticeHours ?? USUAL_NOTICE_HOURS,
      hours: names.map(({ value, label }) => ({ day: label, hours: week[`day.${value}`] || 'closed' })),
    });
  }

  @Needs('salon.write')
  @Get('salon')
  async salonForm(@Called() call: Call): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = {
      ...Object.fromEntries(FIELDS.map((field) => [field, String(salon[field])])),
      cancelNoticeHours: String(salon.cancelNoticeHours ?? ''),
      expectedVersion: String(salon.version),
    };
    await this.showSalon(call, openForm(values));
  }

  @Needs('salon.write')
  @Post('salon')
  async saveSalon(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.showSalon(call, form),
      work: async () => {
        await this.salons.change(salon.id, values, call.actor);
        leaveNotice(call, 'Saved.');
        await call.redirectTo('/settings');
      },
    });
  }

  @Needs('salon.write')
  @Get('hours')
  async hoursForm(@Called() call: Call): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const hours = await this.salons.hours(salon.id);
    const week = hours.map(({ weekday, opensAt, closesAt }) => ({ weekday, from: opensAt, to: closesAt }));
    await this.showHours(call, openForm(weekValues(week)));
  }

  @Needs('salon.write')
  @Post('hours')
  async saveHours(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = typedValues(body);
    const names = weekdayOptions(salon.locale, 'long').map(({ label }) => label);
    let week: ReturnType<typeof readWeek> = [];
    await answerForm({
      call,
      values,
      rename: (field) => weekField(week, field),
      again: (form) => this.showHours(call, form),
      work: async () => {
        week = readWeek(values, names);
        const entries = week.map(({ weekday, from, to }) => ({ weekday, opensAt: from, closesAt: to }));
        await this.salons.setHours(salon.id, { entries }, call.actor);
        leaveNotice(call, 'Saved.');
        await call.redirectTo('/settings');
      },
    });
  }

  private async showSalon(call: Call, form: FormState): Promise<void> {
    await renderPage(call, 'settings-salon', {
      heading: 'The salon',
      form,
      units: UNIT_OPTIONS,
      usualNotice: USUAL_NOTICE_HOURS,
    });
  }

  private async showHours(call: Call, form: FormState): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    await renderPage(call, 'settings-hours', {
      heading: 'Opening hours',
      form,
      days: weekdayOptions(salon.locale, 'long'),
    });
  }
}
