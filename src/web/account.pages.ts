import { Body, Controller, Get, Inject, Param, Post, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Clock, dateIn, dateInWords, timeIn } from '../base/index.js';
import { By, DESK_COOKIE, giveToken, leaveNotice, Needs, renderPage, Who } from '../http/index.js';
import {
  Accounts,
  type Actor,
  ApiTokens,
  codeUri,
  may,
  newCodeSecret,
  Pins,
  type Principal,
  SCOPES,
  type SessionKind,
  Sessions,
  SignIn,
} from '../identity/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';

const KINDS: Record<SessionKind, string> = {
  browser: 'Browser',
  api: 'Program',
  desk: 'Shared desk',
  pin: 'By PIN',
};

/** One's own way in: password, codes, PIN, sessions, tokens. */
@Needs('account.self')
@Controller('account')
export class AccountPages {
  constructor(
    private readonly front: Front,
    private readonly accounts: Accounts,
    private readonly sessions: Sessions,
    private readonly tokens: ApiTokens,
    private readonly pins: Pins,
    private readonly signIn: SignIn,
    private readonly clock: Clock,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  @Get()
  async page(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
  ): Promise<void> {
    await this.show(request, reply, principal, openForm());
  }

  @Post('password')
  async password(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await this.change(request, reply, principal, body, 'The new password is set; other sessions ended.', () =>
      this.accounts.changePassword(principal, body, actor, request.sessionToken ?? ''),
    );
  }

  @Post('codes')
  async codesOn(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await this.change(request, reply, principal, body, 'One-time codes are on; other sessions ended.', () =>
      this.accounts.codesOn(principal, body, actor, request.sessionToken ?? ''),
    );
  }

  @Post('codes/off')
  async codesOff(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await this.change(request, reply, principal, body, 'One-time codes are off.', () =>
      this.accounts.codesOff(principal, body, actor, request.sessionToken ?? ''),
    );
  }

  @Post('pin')
  async pin(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await this.change(request, reply, principal, body, 'The PIN is changed.', () =>
      this.accounts.setPin(principal, body, actor),
    );
  }

  @Post('sessions/:id/end')
  async endSession(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    await this.sessions.end(principal.accountId, id, actor);
    leaveNotice(request, reply, 'That session ended.');
    await reply.redirect('/account', 303);
  }

  /** Makes this device a shared desk and signs out: from now on people switch there by PIN. */
  @Post('desk')
  async desk(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
  ): Promise<void> {
    const { token, expiresAt } = await this.pins.makeDesk(
      { ...actor, accountId: principal.accountId },
      request.headers['user-agent'],
    );
    giveToken(reply, this.settings, DESK_COOKIE, token, (expiresAt - this.clock.now()) / 1000);
    if (request.sessionToken !== undefined) await this.signIn.signOut(request.sessionToken);
    await reply.redirect('/sign-in', 303);
  }

  @Post('tokens')
  async makeToken(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    const given = typeof body === 'object' && body !== null ? (body as Record<string, unknown>) : {};
    const scopes = given['scopes'] === undefined ? [] : [given['scopes']].flat();
    await answerForm({
      reply,
      values: typedValues(body),
      work: async () => {
        const { token } = await this.tokens.make({ ...given, scopes }, principal, actor);
        await this.show(request, reply, principal, openForm(), token);
      },
      again: (form) => this.show(request, reply, principal, form),
    });
  }

  @Post('tokens/:id/end')
  async endToken(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Param('id') id: string,
  ): Promise<void> {
    await this.tokens.end(principal.accountId, id, actor);
    leaveNotice(request, reply, 'That token lets nobody in any more.');
    await reply.redirect('/account', 303);
  }

  private async change(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    body: unknown,
    done: string,
    work: () => Promise<void>,
  ): Promise<void> {
    const { presentPassword: _, password: __, pin: ___, ...values } = typedValues(body);
    await answerForm({
      reply,
      values,
      work: async () => {
        await work();
        leaveNotice(request, reply, done);
        await reply.redirect('/account', 303);
      },
      again: (form) => this.show(request, reply, principal, form),
    });
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    principal: Principal,
    form: FormState,
    newToken?: string,
  ): Promise<void> {
    const { salon } = await this.front.setting(principal);
    const moment = (at: number) =>
      `${dateInWords(dateIn(salon.zone, at), salon.locale)} ${timeIn(salon.zone, at)}`;
    const [account, sessions, tokens] = await Promise.all([
      this.accounts.get(principal.accountId),
      this.sessions.ofAccount(principal.accountId),
      this.tokens.ofAccount(principal.accountId),
    ]);
    const secret = form.values['secret'] || newCodeSecret();
    await renderPage(request, reply, 'account', {
      heading: 'Your account',
      account,
      form,
      newToken,
      secret,
      uri: codeUri(secret, principal.email),
      scopes: SCOPES.filter((scope) => may(principal.role, scope)),
      isOwner: principal.role === 'owner',
      sessions: sessions.map((session) => ({
        ...session,
        kind: KINDS[session.kind],
        started: moment(session.startedAt),
        seen: moment(session.lastSeenAt),
      })),
      tokens: tokens.map((token) => ({
        ...token,
        scopes: token.scopes.join(', '),
        until: moment(token.expiresAt),
      })),
    });
  }
}
