import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { Accounts, may } from '../identity/index.js';
import { Salons, type Staff } from '../salon/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { knownSkills, skillsOf } from './settings-view.js';
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
  async all(@Called() call: Call): Promise<void> {
    const { salon, me } = await this.front.setting(call.principal);
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
        calendar: one.id === me?.id || may(call.principal.role, 'salon.write'),
      });
    }
    await renderPage(call, 'settings-staff', { heading: 'Staff and their hours', staff });
  }

  @Get('new')
  async newOne(@Called() call: Call): Promise<void> {
    await this.show(call, openForm(NEW));
  }

  @Get(':id')
  async one(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const staff = await this.salons.member(salon.id, id);
    await this.show(call, openForm(valuesOf(staff)), staff);
  }

  @Post()
  async add(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.show(call, form),
      work: async () => {
        const { id, name } = await this.salons.addStaff(salon.id, inputOf(values), call.actor);
        leaveNotice(call, `${name} is added. Now say when she works.`);
        await call.redirectTo(`/settings/staff/${id}/rota`);
      },
    });
  }

  @Post(':id')
  async change(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const staff = await this.salons.member(salon.id, id);
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.show(call, form, staff),
      work: async () => {
        const { name } = await this.salons.changeStaff(id, inputOf(values), call.actor);
        leaveNotice(call, `${name} is saved.`);
        await call.redirectTo('/settings/staff');
      },
    });
  }

  private async show(call: Call, form: FormState, staff?: Staff): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const accounts = (await this.accounts.list()).filter(({ active }) => active);
    const all = await this.salons.staff(salon.id);
    await renderPage(call, 'settings-person', {
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
