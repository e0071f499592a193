import { Body, Controller, Get, Inject, Post, Query, Req, Res } from '@nestjs/common';
import { IsString, MaxLength } from 'class-validator';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Clock, DomainError, validated } from '../base/index.js';
import { Open, renderPage, SESSION_COOKIE } from '../http/index.js';
import { SignIn } from '../identity/index.js';
import { SETTINGS, type Settings } from '../store/index.js';

class SignInForm {
  @IsString({ message: 'Enter your e-mail address.' })
  @MaxLength(254, { message: 'That e-mail address is too long.' })
  email: string;

  @IsString({ message: 'Enter your password.' })
  @MaxLength(1000, { message: 'That password is too long.' })
  password: string;

  @IsString()
  next: string = '/';
}

/** Only a path of our own may be returned to, never another site. */
function ownPath(next: unknown): string {
  return typeof next === 'string' && /^\/(?![/\\])[^\s]*$/.test(next) ? next : '/';
}

@Open()
@Controller()
export class SignInPages {
  constructor(
    private readonly signIn: SignIn,
    private readonly clock: Clock,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  @Get('/')
  async home(@Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    await reply.redirect(request.principal ? '/today' : '/sign-in', 303);
  }

  @Get('/sign-in')
  async form(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Query('next') next?: string,
  ): Promise<void> {
    await renderPage(request, reply, 'sign-in', {
      heading: 'Sign in',
      next: ownPath(next),
      email: '',
      wrong: '',
    });
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
      const { token, expiresAt } = await this.signIn.signIn(form.email, form.password, request.ip);
      await reply
        .setCookie(SESSION_COOKIE, token, {
          path: '/',
          httpOnly: true,
          sameSite: 'lax',
          secure: this.settings.secureCookies,
          // A span, not a date: the browser's own clock may be wrong.
          maxAge: Math.floor((expiresAt - this.clock.now()) / 1000),
        })
        .redirect(next, 303);
    } catch (error) {
      if (!(error instanceof DomainError)) throw error;
      await renderPage(request, reply.status(422), 'sign-in', {
        heading: 'Sign in',
        next,
        email: form.email,
        wrong: error.message,
      });
    }
  }

  @Post('/sign-out')
  async leave(@Req() request: FastifyRequest, @Res() reply: FastifyReply): Promise<void> {
    if (request.sessionToken !== undefined) await this.signIn.signOut(request.sessionToken);
    await reply.clearCookie(SESSION_COOKIE, { path: '/' }).redirect('/sign-in', 303);
  }
}
