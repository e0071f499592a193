import { Body, Controller, Get, Inject, Param, Post } from '@nestjs/common';
import { Clock, dateIn, dateInWords, timeIn } from '../base/index.js';
import { Call, Called, DESK_COOKIE, giveToken, leaveNotice, Needs, renderPage } from '../http/index.js';
import {
  Accounts,
  ApiTokens,
  codeUri,
  may,
  newCodeSecret,
  Pins,
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
  async page(@Called() call: Call): Promise<void> {
    await this.show(call, openForm());
  }

  @Post('password')
  async password(@Called() call: Call, @Body() body: unknown): Promise<void> {
    await this.change(call, body, 'The new password is set; other sessions ended.', () =>
      this.accounts.changePassword(call.principal, body, call.actor, call.request.sessionToken ?? ''),
    );
  }

  @Post('codes')
  async codesOn(@Called() call: Call, @Body() body: unknown): Promise<void> {
    await this.change(call, body, 'One-time codes are on; other sessions ended.', () =>
      this.accounts.codesOn(call.principal, body, call.actor, call.request.sessionToken ?? ''),
    );
  }

  @Post('codes/off')
  async codesOff(@Called() call: Call, @Body() body: unknown): Promise<void> {
    await this.change(call, body, 'One-time codes are off.', () =>
      this.accounts.codesOff(call.principal, body, call.actor, call.request.sessionToken ?? ''),
    );
  }

  @Post('pin')
  async pin(@Called() call: Call, @Body() body: unknown): Promise<void> {
    await this.change(call, body, 'The PIN is changed.', () =>
      this.accounts.setPin(call.principal, body, call.actor),
    );
  }

  @Post('sessions/:id/end')
  async endSession(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.sessions.end(call.principal.accountId, id, call.actor);
    leaveNotice(call, 'That session ended.');
    await call.redirectTo('/account');
  }

  /** Makes this device a shared desk and signs out: from now on people switch there by PIN. */
  @Post('desk')
  async desk(@Called() call: Call): Promise<void> {
    const { token, expiresAt } = await this.pins.makeDesk(
      { ...call.actor, accountId: call.principal.accountId },
      call.request.headers['user-agent'],
    );
    giveToken(call.reply, this.settings, DESK_COOKIE, token, (expiresAt - this.clock.now()) / 1000);
    if (call.request.sessionToken !== undefined) await this.signIn.signOut(call.request.sessionToken);
    await call.redirectTo('/sign-in');
  }

  @Post('tokens')
  async makeToken(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const given = typeof body === 'object' && body !== null ? (body as Record<string, unknown>) : {};
    const scopes = given['scopes'] === undefined ? [] : [given['scopes']].flat();
    await answerForm({
      call,
      values: typedValues(body),
      work: async () => {
        const { token } = await this.tokens.make({ ...given, scopes }, call.principal, call.actor);
        await this.show(call, openForm(), token);
      },
      again: (form) => this.show(call, form),
    });
  }

  @Post('tokens/:id/end')
  async endToken(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.tokens.end(call.principal.accountId, id, call.actor);
    leaveNotice(call, 'That token lets nobody in any more.');
    await call.redirectTo('/account');
  }

  private async change(call: Call, body: unknown, done: string, work: () => Promise<void>): Promise<void> {
    const { presentPassword: _, password: __, pin: ___, ...values } = typedValues(body);
    await answerForm({
      call,
      values,
      work: async () => {
        await work();
        leaveNotice(call, done);
        await call.redirectTo('/account');
      },
      again: (form) => this.show(call, form),
    });
  }

  private async show(call: Call, form: FormState, newToken?: string): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const moment = (at: number) =>
      `${dateInWords(dateIn(salon.zone, at), salon.locale)} ${timeIn(salon.zone, at)}`;
    const [account, sessions, tokens] = await Promise.all([
      this.accounts.get(call.principal.accountId),
      this.sessions.ofAccount(call.principal.accountId),
      this.tokens.ofAccount(call.principal.accountId),
    ]);
    const secret = form.values['secret'] || newCodeSecret();
    await renderPage(call, 'account', {
      heading: 'Your account',
      account,
      form,
      newToken,
      secret,
      uri: codeUri(secret, call.principal.email),
      scopes: SCOPES.filter((scope) => may(call.principal.role, scope)),
      isOwner: call.principal.role === 'owner',
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
