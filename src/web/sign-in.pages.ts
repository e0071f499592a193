import { Body, Controller, Get, Inject, Post, Query, Req, Res } from '@nestjs/common';
import { IsOptional, IsString, MaxLength } from 'class-validator';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Clock, DomainError, validated } from '../base/index.js';
import {
  cookieName,
  DESK_COOKIE,
  giveToken,
  Open,
  problemOf,
  renderPage,
  SESSION_COOKIE,
  takeToken,
} from '../http/index.js';
import { FirstOwner, PasswordLinks, Pins, SignIn, type StartedSession } from '../identity/index.js';
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

class SwitchForm {
  @MaxLength(36, { message: 'Choose who you are.' })
  @IsString({ message: 'Choose who you are.' })
  accountId: string;

  @MaxLength(8, { message: 'PIN: four to eight digits.' })
  @IsString({ message: 'PIN: enter yours.' })
  pin: string;
}

class ForgottenForm {
  @MaxLength(254, { message: 'That e-mail address is too long.' })
  @IsString({ message: 'Enter your e-mail address.' })
  email: string;
}

class NewPasswordForm {
  @MaxLength(100, { message: 'This link is not whole. Copy all of it from the letter.' })
  @IsString({ message: 'This link is not whole. Copy all of it from the letter.' })
  link: string;

  @MaxLength(1000, { message: 'Password: use at most 1,000 characters.' })
  @IsString({ message: 'Password: choose one.' })
  password: string;
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
  async home(@Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    if (request.principal) return await reply.redirect('/today', 303);
    await reply.redirect((await this.firstOwner.isNeeded()) ? '/set-up' : '/sign-in', 303);
  }

  @Get('/sign-in')
  async form(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Query('next') next?: unknown,
  ): Promise<void> {
    await this.show(request, reply, { next: ownPath(next) });
  }

  @Post('/sign-in')
  async enter(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Body() body: unknown,
  ): Promise<void> {
    const form = await validated(SignInForm, body);
    const next = ownPath(form.next);
    try {
      const started = await this.signIn.signIn(form.email, form.password, {
        address: request.ip,
        agent: request.headers['user-agent'],
        kind: 'browser',
        code: form.code,
      });
      await this.letIn(request, reply, started, next);
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      this.refused(reply, error);
      const codeNeeded = error.code === 'SIGN_IN.CODE_NEEDED' || Boolean(form.code);
      await this.show(request, reply, { next, email: form.email, wrong: error.message, codeNeeded });
    }
  }

  @Post('/switch')
  async switchTo(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Body() body: unknown,
  ): Promise<void> {
    const { accountId, pin } = await validated(SwitchForm, body);
    try {
      const started = await this.pins.switchTo(this.desk(request) ?? '', accountId, pin, {
        address: request.ip,
        agent: request.headers['user-agent'],
      });
      await this.letIn(request, reply, started, '/today');
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      this.refused(reply, error);
      await this.show(request, reply, { wrong: error.message, chosen: accountId });
    }
  }

  @Post('/sign-out')
  async leave(@Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    if (request.sessionToken !== undefined) await this.signIn.signOut(request.sessionToken);
    takeToken(reply, this.settings, SESSION_COOKIE);
    await reply.header('clear-site-data', '"cache"').redirect('/sign-in', 303);
  }

  /** The device is no shared desk any more; whoever switched there is out. */
  @Post('/desk/end')
  async endDesk(@Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    const desk = this.desk(request);
    if (desk !== undefined) await this.signIn.signOut(desk);
    takeToken(reply, this.settings, DESK_COOKIE);
    await reply.redirect('/sign-in', 303);
  }

  @Get('/forgotten')
  async forgotten(@Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    await renderPage(request, reply, 'forgotten', { heading: 'Forgotten password', sent: false });
  }

  @Post('/forgotten')
  async sendLink(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Body() body: unknown,
  ): Promise<void> {
    const { email } = await validated(ForgottenForm, body);
    // Not waited for: how long it takes would tell whether there is such an account.
    this.links.ask(email, request.ip);
    await renderPage(request, reply.status(200), 'forgotten', { heading: 'Forgotten password', sent: true });
  }

  @Get('/new-password')
  async newPassword(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Query('link') link?: unknown,
  ): Promise<void> {
    const token = typeof link === 'string' ? link : '';
    const stands = await this.links.stands(token);
    await renderPage(request, reply.status(stands ? 200 : 410), 'new-password', {
      heading: 'New password',
      link: token,
      stands,
      form: openForm(),
    });
  }

  @Post('/new-password')
  async setPassword(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Body() body: unknown,
  ): Promise<void> {
    const { link, password } = await validated(NewPasswordForm, body);
    try {
      await this.links.use(link, password, request.ip);
      await renderPage(request, reply.status(200), 'new-password', { heading: 'New password', done: true });
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      await renderPage(request, reply.status(422), 'new-password', {
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

  private refused(reply: FastifyReply, error: DomainError): void {
    const { status, details } = problemOf(error);
    void reply.status(status === 429 ? 429 : 422);
    const { retryAfterSeconds } = details;
    if (typeof retryAfterSeconds === 'number') void reply.header('retry-after', String(retryAfterSeconds));
  }

  /** The session that was open at this browser ends with the new one's beginning. */
  private async letIn(
    request: FastifyRequest,
    reply: FastifyReply,
    { token, expiresAt }: StartedSession,
    next: string,
  ): Promise<void> {
    if (request.sessionToken !== undefined) await this.signIn.signOut(request.sessionToken);
    giveToken(reply, this.settings, SESSION_COOKIE, token, (expiresAt - this.clock.now()) / 1000);
    await reply.redirect(next, 303);
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    data: Readonly<Record<string, unknown>>,
  ): Promise<void> {
    const desk = this.desk(request);
    const people = desk === undefined ? undefined : await this.pins.people(desk);
    await renderPage(request, reply, 'sign-in', {
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
