import { Body, Controller, Get, Inject, Post, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { By, giveToken, leaveNotice, Needs, renderPage, SALON_COOKIE, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
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
  async overview(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    await this.showOverview(request, reply, principal, openForm());
  }

  /** Which salon this browser looks at from now on. */
  @Post('choice')
  async choose(
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Body() body: unknown,
  ): Promise<void> {
    const { id } = await this.salons.of({ ...principal, salonId: typedValues(body)['salonId'] ?? '' });
    giveToken(reply, this.settings, SALON_COOKIE, id, KEPT_SECONDS);
    await reply.redirect('/today', 303);
  }

  /** Another salon of the same owner; what is not asked is as here. */
  @Needs('salon.write')
  @Post('salons')
  async addSalon(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const values = typedValues(body);
    await answerForm({
      reply,
      values,
      again: (form) => this.showOverview(request, reply, principal, form),
      work: async () => {
        const { units, currency, locale, phoneRegion, skinTestValidDays, cancelNoticeHours } = salon;
        const usual = { units, currency, locale, phoneRegion, skinTestValidDays, cancelNoticeHours };
        const { id, name } = await this.salons.add({ ...usual, ...values }, actor);
        giveToken(reply, this.settings, SALON_COOKIE, id, KEPT_SECONDS);
        leaveNotice(request, reply, `${name} is added. Now its opening hours, services and staff.`);
        await reply.redirect('/settings', 303);
      },
    });
  }

  private async showOverview(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const salons = await this.salons.openTo(principal);
    const names = weekdayOptions(salon.locale, 'long');
    const hours = (await this.salons.hours(salon.id)).map(({ weekday, opensAt, closesAt }) => ({
      weekday,
      from: opensAt,
      to: closesAt,
    }));
    const week = weekValues(hours);
    await renderPage(request, reply, 'settings', {
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
  async salonForm(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const values = {
      ...Object.fromEntries(FIELDS.map((field) => [field, String(salon[field])])),
      cancelNoticeHours: String(salon.cancelNoticeHours ?? ''),
      expectedVersion: String(salon.version),
    };
    await this.showSalon(request, reply, openForm(values));
  }

  @Needs('salon.write')
  @Post('salon')
  async saveSalon(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const values = typedValues(body);
    await answerForm({
      reply,
      values,
      again: (form) => this.showSalon(request, reply, form),
      work: async () => {
        await this.salons.change(salon.id, values, actor);
        leaveNotice(request, reply, 'Saved.');
        await reply.redirect('/settings', 303);
      },
    });
  }

  @Needs('salon.write')
  @Get('hours')
  async hoursForm(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const hours = await this.salons.hours(salon.id);
    const week = hours.map(({ weekday, opensAt, closesAt }) => ({ weekday, from: opensAt, to: closesAt }));
    await this.showHours(request, reply, principal, openForm(weekValues(week)));
  }

  @Needs('salon.write')
  @Post('hours')
  async saveHours(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const values = typedValues(body);
    const names = weekdayOptions(salon.locale, 'long').map(({ label }) => label);
    let week: ReturnType<typeof readWeek> = [];
    await answerForm({
      reply,
      values,
      rename: (field) => weekField(week, field),
      again: (form) => this.showHours(request, reply, principal, form),
      work: async () => {
        week = readWeek(values, names);
        const entries = week.map(({ weekday, from, to }) => ({ weekday, opensAt: from, closesAt: to }));
        await this.salons.setHours(salon.id, { entries }, actor);
        leaveNotice(request, reply, 'Saved.');
        await reply.redirect('/settings', 303);
      },
    });
  }

  private async showSalon(request: FastifyRequest, reply: FastifyReply, form: FormState): Promise<void> {
    await renderPage(request, reply, 'settings-salon', {
      heading: 'The salon',
      form,
      units: UNIT_OPTIONS,
      usualNotice: USUAL_NOTICE_HOURS,
    });
  }

  private async showHours(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    await renderPage(request, reply, 'settings-hours', {
      heading: 'Opening hours',
      form,
      days: weekdayOptions(salon.locale, 'long'),
    });
  }
}
