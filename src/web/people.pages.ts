import { Body, Controller, Get, Param, Post, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { By, leaveNotice, Needs, renderPage } from '../http/index.js';
import { Accounts, type Actor, ROLES } from '../identity/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { optionsOf } from './words.js';

const ROLE_OPTIONS = optionsOf(Object.fromEntries(ROLES.map((role) => [role, role])));

/** Who has an account: the owner's page. */
@Needs('account.manage')
@Controller('people')
export class PeoplePages {
  constructor(private readonly accounts: Accounts) {}

  @Get()
  async list(@Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    await this.show(request, reply, openForm({ role: 'stylist' }));
  }

  @Post()
  async invite(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await answerForm({
      reply,
      values: typedValues(body),
      work: async () => {
        const { account, link } = await this.accounts.invite(body, actor);
        await this.show(request, reply, openForm({ role: 'stylist' }), { name: account.name, link });
      },
      again: (form) => this.show(request, reply, form),
    });
  }

  @Post(':id/link')
  async link(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    const link = await this.accounts.newLink(id, actor);
    const { name } = await this.accounts.get(id);
    await this.show(request, reply, openForm({ role: 'stylist' }), { name, link });
  }

  @Post(':id/close')
  async close(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    await this.accounts.setActive(id, false, actor);
    await this.back(request, reply, 'That account is closed and signed out everywhere.');
  }

  @Post(':id/open')
  async open(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    await this.accounts.setActive(id, true, actor);
    await this.back(request, reply, 'That account is open again.');
  }

  @Post(':id/sessions/end')
  async endSessions(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    await this.accounts.endSessions(id, actor);
    await this.back(request, reply, 'That account is signed out everywhere.');
  }

  @Post(':id/codes/off')
  async dropCodes(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    await this.accounts.dropCodes(id, actor);
    await this.back(request, reply, 'One-time codes are off for that account.');
  }

  private async back(request: FastifyRequest, reply: FastifyReply, words: string): Promise<void> {
    leaveNotice(request, reply, words);
    await reply.redirect('/people', 303);
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    form: FormState,
    made?: { readonly name: string; readonly link: string },
  ): Promise<void> {
    await renderPage(request, reply, 'people', {
      heading: 'People',
      form,
      made,
      roles: ROLE_OPTIONS,
      accounts: await this.accounts.list(),
    });
  }
}
