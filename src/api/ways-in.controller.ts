import { Body, Controller, HttpCode, Post, Req } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { IsString, MaxLength } from 'class-validator';
import type { FastifyRequest } from 'fastify';
import { given, validated } from '../base/index.js';
import { Open, WithoutKey } from '../http/index.js';
import {
  ForgottenPasswordInput,
  NewPasswordInput,
  PasswordLinks,
  PinSignInInput,
  Pins,
  SignIn,
} from '../identity/index.js';
import { SetUp, SetUpInput } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';

const DESK = 'desk must be the token that made the device a shared desk.';

export class DeskInput {
  @IsString({ message: DESK })
  @MaxLength(200, { message: DESK })
  desk: string;
}

export class PinSessionInput extends PinSignInInput {
  @IsString({ message: DESK })
  @MaxLength(200, { message: DESK })
  desk: string;
}

/** For people who are not signed in: each brings a proof of its own, a password, a PIN, a code or a link. */
@ApiPart('ways in')
@Open()
@WithoutKey()
@Controller('api/v1')
export class WaysInController {
  constructor(
    private readonly signIn: SignIn,
    private readonly pins: Pins,
    private readonly links: PasswordLinks,
    private readonly setUp: SetUp,
  ) {}

  @Post('set-up')
  @ApiOperation({
    summary: 'The first account and the salon of a fresh installation; the code stands in its log',
  })
  @Takes(SetUpInput)
  async firstOwner(@Body() body: unknown) {
    const { salon, ...owner } = given(body) as { salon?: unknown };
    return { salon: await this.setUp.make(owner, salon) };
  }

  @Post('desk/people')
  @HttpCode(200)
  @ApiOperation({ summary: 'Who can switch at a shared desk; null where the token makes none (any more)' })
  @Takes(DeskInput)
  async people(@Body() body: unknown) {
    const { desk } = await validated(DeskInput, body);
    return { people: (await this.pins.people(desk)) ?? null };
  }

  @Post('desk/sessions')
  @ApiOperation({ summary: 'Switch to somebody by PIN: a token for half an hour' })
  @Takes(PinSessionInput)
  async switchTo(@Body() body: unknown, @Req() { ip, headers }: FastifyRequest) {
    const { desk, accountId, pin } = await validated(PinSessionInput, body);
    return await this.pins.switchTo(desk, accountId, pin, { address: ip, agent: headers['user-agent'] });
  }

  @Post('desk/end')
  @HttpCode(204)
  @ApiOperation({ summary: 'The device is no shared desk any more; whoever switched there is out' })
  @Takes(DeskInput)
  async endDesk(@Body() body: unknown): Promise<void> {
    const { desk } = await validated(DeskInput, body);
    await this.signIn.signOut(desk);
  }

  @Post('password-links')
  @HttpCode(202)
  @ApiOperation({
    summary: 'Send a link for a forgotten password; the answer does not say whether there is such an account',
  })
  @Takes(ForgottenPasswordInput)
  async forgotten(@Body() body: unknown, @Req() { ip }: FastifyRequest) {
    const { email } = await validated(ForgottenPasswordInput, body);
    // Not waited for: how long it takes would tell whether there is such an account.
    this.links.ask(email, ip);
    return { taken: true };
  }

  @Post('password-links/use')
  @HttpCode(204)
  @ApiOperation({ summary: 'Set a password by a link; every session of the account ends' })
  @Takes(NewPasswordInput)
  async setPassword(@Body() body: unknown, @Req() { ip }: FastifyRequest): Promise<void> {
    const { link, password } = await validated(NewPasswordInput, body);
    await this.links.use(link, password, ip);
  }
}
