import { Body, Controller, Delete, Get, HttpCode, Param, Post, Put, Req } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import type { FastifyRequest } from 'fastify';
import { By, Needs, Who, WithoutKey } from '../http/index.js';
import {
  Accounts,
  type Actor,
  CodesOnInput,
  codeUri,
  newCodeSecret,
  PasswordChangeInput,
  PinInput,
  Pins,
  PresentPasswordInput,
  type Principal,
  Sessions,
} from '../identity/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

/** One's own way in. Never for tokens: one could outlive itself. */
@ApiPart('account')
@Needs('account.self')
@WithoutKey()
@Controller('api/v1/account')
export class AccountController {
  constructor(
    private readonly accounts: Accounts,
    private readonly sessions: Sessions,
    private readonly pins: Pins,
  ) {}

  @Get()
  @ApiOperation({ summary: "One's own account" })
  async show(@Who() { accountId }: Principal) {
    return { account: await this.accounts.get(accountId) };
  }

  @Put('password')
  @HttpCode(204)
  @ApiOperation({ summary: 'Set a new password; every other session ends' })
  @Takes(PasswordChangeInput)
  async password(
    @Req() { sessionToken = '' }: FastifyRequest,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await this.accounts.changePassword(principal, body, actor, sessionToken);
  }

  @Put('pin')
  @HttpCode(204)
  @ApiOperation({ summary: 'Set the PIN for switching at a shared desk; without one it is taken away' })
  @Takes(PinInput)
  async pin(@Who() principal: Principal, @By() actor: Actor, @Body() body: unknown): Promise<void> {
    await this.accounts.setPin(principal, body, actor);
  }

  @Get('codes/secret')
  @ApiOperation({
    summary: 'A fresh secret for an authenticator (RFC 6238); kept only when codes are switched on with it',
  })
  secret(@Who() { email }: Principal) {
    const secret = newCodeSecret();
    return { secret, uri: codeUri(secret, email) };
  }

  @Put('codes')
  @HttpCode(204)
  @ApiOperation({ summary: 'Ask for one-time codes at sign-in; every other session ends' })
  @Takes(CodesOnInput)
  async codesOn(
    @Req() { sessionToken = '' }: FastifyRequest,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await this.accounts.codesOn(principal, body, actor, sessionToken);
  }

  @Post('codes/off')
  @HttpCode(204)
  @ApiOperation({ summary: 'Ask for one-time codes no more' })
  @Takes(PresentPasswordInput)
  async codesOff(
    @Req() { sessionToken = '' }: FastifyRequest,
    @Who() principal: Principal,
    @By() actor: Actor,
    @Body() body: unknown,
  ): Promise<void> {
    await this.accounts.codesOff(principal, body, actor, sessionToken);
  }

  @Get('sessions')
  @ApiOperation({ summary: "One's own sessions that last, newest first" })
  async list(@Who() { accountId }: Principal) {
    return { sessions: await this.sessions.ofAccount(accountId) };
  }

  @Delete('sessions/:id')
  @HttpCode(204)
  @ApiOperation({ summary: 'End a session' })
  async end(@Who() { accountId }: Principal, @By() actor: Actor, @Param('id') id: string): Promise<void> {
    await this.sessions.end(accountId, requireId(id, 'id'), actor);
  }

  @Post('desk')
  @ApiOperation({ summary: 'Make a device a shared desk; the answer shows its token for the only time' })
  async desk(@Req() request: FastifyRequest, @Who() { accountId }: Principal, @By() actor: Actor) {
    return await this.pins.makeDesk({ ...actor, accountId }, request.headers['user-agent']);
  }
}
