import { Body, Controller, Get, Inject, Post, Query } from '@nestjs/common';
import { IsOptional, IsString, MaxLength } from 'class-validator';
import type { FastifyRequest } from 'fastify';
import { Clock, DomainError, validated } from '../base/index.js';
import {
  Call,
  Called,
  cookieName,
  DESK_COOKIE,
  giveToken,
  Open,
  problemOf,
  renderPage,
  SESSION_COOKIE,
  takeToken,
} from '../http/index.js';
import {
  FirstOwner,
  ForgottenPasswordInput,
  NewPasswordInput,
  PasswordLinks,
  PinSignInInput,
  Pins,
  SignIn,
  type StartedSession,
} from '../identity/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { openForm, refusedForm } from './forms.js';

class SignInForm {
  @MaxLength(254, { message: 'That e-mail address is too long.' })
  @IsString({ message: 'Enter your e-mail address.' })
  email: string;

  @MaxLength(1000, { message: 'That password is too long.' })
  @IsString({ message: 'Enter your password.' })
  password: string;

  @IsOptional()
  @MaxLength(20, { message: 'Code: enter the six digits that your authenticator shows.' })
  @IsString({ message: 'Code: enter the six digits that your authenticator shows.' })
  code?: string;

  @MaxLength(2000, { message: 'The address to go on to is too long.' })
  @IsString()
  next: string = '/';
}

/** Only a path of our own may be returned to, never another site. */
function ownPath(next: unknown): string {
  return typeof next === 'string' && /^\/(?![/\\])[^\s\\]*$/.test(next) ? next : '/';
}

@Open()
@Controller()
export class SignInPages {
  constructor(
    private readonly signIn: SignIn,
    private readonly pins: Pins,
    private readonly links: PasswordLinks,
    private readonly firstOwner: FirstOwner,
    private readonly clock: Clock,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  @Get('/')
  async home(@Called() call: Call): Promise<void> {
    if (call.request.principal) return await call.redirectTo('/today');
    await call.redirectTo((await this.firstOwner.isNeeded()) ? '/set-up' : '/sign-in');
  }

  @Get('/sign-in')
  async form(@Called() call: Call, @Query('next') next?: unknown): Promise<void> {
    await this.show(call, { next: ownPath(next) });
  }

  @Post('/sign-in')
  async enter(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const form = await validated(SignInForm, body);
    const next = ownPath(form.next);
    try {
      const started = await this.signIn.signIn(form.email, form.password, {
        address: call.request.ip,
        agent: call.request.headers['user-agent'],
        kind: 'browser',
        code: form.code,
      });
      await this.letIn(call, started, next);
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      this.refused(call, error);
      const codeNeeded = error.code === 'SIGN_IN.CODE_NEEDED' || Boolean(form.code);
      await this.show(call, { next, email: form.email, wrong: error.message, codeNeeded });
    }
  }

  @Post('/switch')
  async switchTo(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { accountId, pin } = await validated(PinSignInInput, body);
    try {
      const started = await this.pins.switchTo(this.desk(call.request) ?? '', accountId, pin, {
        address: call.request.ip,
        agent: call.request.headers['user-agent'],
      });
      await this.letIn(call, started, '/today');
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      this.refused(call, error);
      await this.show(call, { wrong: error.message, chosen: accountId });
    }
  }

  @Post('/sign-out')
  async leave(@Called() call: Call): Promise<void> {
    if (call.request.sessionToken !== undefined) await this.signIn.signOut(call.request.sessionToken);
    takeToken(call.reply, this.settings, SESSION_COOKIE);
    await call.reply.header('clear-site-data', '"cache"').redirect('/sign-in', 303);
  }

  /** The device is no shared desk any more; whoever switched there is out. */
  @Post('/desk/end')
  async endDesk(@Called() call: Call): Promise<void> {
    const desk = this.desk(call.request);
    if (desk !== undefined) await this.signIn.signOut(desk);
    takeToken(call.reply, this.settings, DESK_COOKIE);
    await call.redirectTo('/sign-in');
  }

  @Get('/forgotten')
  async forgotten(@Called() call: Call): Promise<void> {
    await renderPage(call, 'forgotten', { heading: 'Forgotten password', sent: false });
  }

  @Post('/forgotten')
  async sendLink(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { email } = await validated(ForgottenPasswordInput, body);
    // Not waited for: how long it takes would tell whether there is such an account.
    this.links.ask(email, call.request.ip);
    await renderPage(call.status(200), 'forgotten', { heading: 'Forgotten password', sent: true });
  }

  @Get('/new-password')
  async newPassword(@Called() call: Call, @Query('link') link?: unknown): Promise<void> {
    const token = typeof link === 'string' ? link : '';
    const stands = await this.links.stands(token);
    await renderPage(call.status(stands ? 200 : 410), 'new-password', {
      heading: 'New password',
      link: token,
      stands,
      form: openForm(),
    });
  }

  @Post('/new-password')
  async setPassword(@Called() call: Call, @Body() body: unknown): Promise<void> {
    const { link, password } = await validated(NewPasswordInput, body);
    try {
      await this.links.use(link, password, call.request.ip);
      await renderPage(call.status(200), 'new-password', { heading: 'New password', done: true });
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      await renderPage(call.status(422), 'new-password', {
        heading: 'New password',
        link,
        stands: error.code !== 'PASSWORD_LINK.VOID',
        form: refusedForm({}, problemOf(error)),
      });
    }
  }

  private desk(request: FastifyRequest): string | undefined {
    return request.cookies[cookieName(this.settings, DESK_COOKIE)];
  }

  private refused(call: Call, error: DomainError): void {
    const { status, details } = problemOf(error);
    void call.reply.status(status === 429 ? 429 : 422);
    const { retryAfterSeconds } = details;
    if (typeof retryAfterSeconds === 'number')
      void call.reply.header('retry-after', String(retryAfterSeconds));
  }

  /** The session that was open at this browser ends with the new one's beginning. */
  private async letIn(call: Call, { token, expiresAt }: StartedSession, next: string): Promise<void> {
    if (call.request.sessionToken !== undefined) await this.signIn.signOut(call.request.sessionToken);
    giveToken(call.reply, this.settings, SESSION_COOKIE, token, (expiresAt - this.clock.now()) / 1000);
    await call.redirectTo(next);
  }

  private async show(call: Call, data: Readonly<Record<string, unknown>>): Promise<void> {
    const desk = this.desk(call.request);
    const people = desk === undefined ? undefined : await this.pins.people(desk);
    await renderPage(call, 'sign-in', {
      heading: 'Sign in',
      next: '/',
      email: '',
      wrong: '',
      codeNeeded: false,
      people,
      isDesk: people !== undefined,
      ...data,
    });
  }
}
