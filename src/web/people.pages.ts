import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { Accounts, ROLES } from '../identity/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { optionsOf } from './words.js';

const ROLE_OPTIONS = optionsOf(Object.fromEntries(ROLES.map((role) => [role, role])));

/** Who has an account: the owner's page. */
@Needs('account.manage')
@Controller('people')
export class PeoplePages {
  constructor(private readonly accounts: Accounts) {}

  @Get()
  async list(@Called() call: Call): Promise<void> {
    await this.show(call, openForm({ role: 'stylist' }));
  }

  @Post()
  async invite(@Called() call: Call, @Body() body: unknown): Promise<void> {
    await answerForm({
      call,
      values: typedValues(body),
      work: async () => {
        const { account, link } = await this.accounts.invite(body, call.actor);
        await this.show(call, openForm({ role: 'stylist' }), { name: account.name, link });
      },
      again: (form) => this.show(call, form),
    });
  }

  @Post(':id/link')
  async link(@Called() call: Call, @Param('id') id: string): Promise<void> {
    const link = await this.accounts.newLink(id, call.actor);
    const { name } = await this.accounts.get(id);
    await this.show(call, openForm({ role: 'stylist' }), { name, link });
  }

  @Post(':id/close')
  async close(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.accounts.setActive(id, false, call.actor);
    await this.back(call, 'That account is closed and signed out everywhere.');
  }

  @Post(':id/open')
  async open(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.accounts.setActive(id, true, call.actor);
    await this.back(call, 'That account is open again.');
  }

  @Post(':id/sessions/end')
  async endSessions(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.accounts.endSessions(id, call.actor);
    await this.back(call, 'That account is signed out everywhere.');
  }

  @Post(':id/codes/off')
  async dropCodes(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.accounts.dropCodes(id, call.actor);
    await this.back(call, 'One-time codes are off for that account.');
  }

  private async back(call: Call, words: string): Promise<void> {
    leaveNotice(call, words);
    await call.redirectTo('/people');
  }

  private async show(
    call: Call,
    form: FormState,
    made?: { readonly name: string; readonly link: string },
  ): Promise<void> {
    await renderPage(call, 'people', {
      heading: 'People',
      form,
      made,
      roles: ROLE_OPTIONS,
      accounts: await this.accounts.list(),
    });
  }
}
