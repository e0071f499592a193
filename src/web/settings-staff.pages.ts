import { Body, Controller, Get, Param, Post, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { By, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import { Accounts, type Actor, may, type Principal } from '../identity/index.js';
import { Salons, type Staff } from '../salon/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { knownSkills, skillsOf } from './settings-view.js';
import { staffOfSalon } from './staff-of-salon.js';
import { weekdayOptions } from './waiting-view.js';
import { weekValues } from './week-text.js';

const NEW = { cutsHair: 'true', active: 'true', fingerWidthMm: '18' };

/** Who works here, what they can do and by which account they sign in. */
@Needs('salon.write')
@Controller('settings/staff')
export class SettingsStaffPages {
  constructor(
    private readonly front: Front,
    private readonly salons: Salons,
    private readonly accounts: Accounts,
  ) {}

  @Needs('salon.read')
  @Get()
  async all(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    const { salon, me } = await this.front.setting(principal);
    const days = weekdayOptions(salon.locale);
    const staff = [];
    for (const one of await this.salons.staff(salon.id)) {
      const rota = await this.salons.rota(one.id);
      const week = weekValues(
        rota.map(({ weekday, startsAt, endsAt }) => ({ weekday, from: startsAt, to: endsAt })),
      );
      staff.push({
        ...one,
        skills: (one.skills ?? []).join(', '),
        week: days
          .filter(({ value }) => week[`day.${value}`])
          .map(({ value, label }) => `${label} ${week[`day.${value}`]}`)
          .join(' · '),
        calendar: one.id === me?.id || may(principal.role, 'salon.write'),
      });
    }
    await renderPage(request, reply, 'settings-staff', { heading: 'Staff and their hours', staff });
  }

  @Get('new')
  async newOne(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    await this.show(request, reply, principal, openForm(NEW));
  }

  @Get(':id')
  async one(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @Param('id') id: string,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const staff = await staffOfSalon(this.salons, salon.id, id);
    await this.show(request, reply, principal, openForm(valuesOf(staff)), staff);
  }

  @Post()
  async add(
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
      again: (form) => this.show(request, reply, principal, form),
      work: async () => {
        const { id, name } = await this.salons.addStaff(salon.id, inputOf(values), actor);
        leaveNotice(request, reply, `${name} is added. Now say when she works.`);
        await reply.redirect(`/settings/staff/${id}/rota`, 303);
      },
    });
  }

  @Post(':id')
  async change(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
    @Body() body: unknown,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const staff = await staffOfSalon(this.salons, salon.id, id);
    const values = typedValues(body);
    await answerForm({
      reply,
      values,
      again: (form) => this.show(request, reply, principal, form, staff),
      work: async () => {
        const { name } = await this.salons.changeStaff(id, inputOf(values), actor);
        leaveNotice(request, reply, `${name} is saved.`);
        await reply.redirect('/settings/staff', 303);
      },
    });
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
    staff?: Staff,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const accounts = (await this.accounts.list()).filter(({ active }) => active);
    const all = await this.salons.staff(salon.id);
    await renderPage(request, reply, 'settings-person', {
      heading: staff?.name ?? 'New member of staff',
      id: staff?.id,
      form,
      accounts: accounts.map(({ id, name, email }) => ({ value: id, label: `${name}, ${email}` })),
      skills: knownSkills(all, await this.salons.services(salon.id)),
    });
  }
}

function valuesOf({ name, cutsHair, active, fingerWidthMm, skills, accountId, version }: Staff) {
  return {
    name,
    fingerWidthMm: String(fingerWidthMm),
    skills: (skills ?? []).join(', '),
    accountId: accountId ?? '',
    expectedVersion: String(version),
    ...(cutsHair && { cutsHair: 'true' }),
    ...(active && { active: 'true' }),
  };
}

function inputOf(values: Readonly<Record<string, string>>) {
  return {
    ...values,
    cutsHair: values['cutsHair'] === 'true',
    active: values['active'] === 'true',
    skills: skillsOf(values['skills']),
  };
}
