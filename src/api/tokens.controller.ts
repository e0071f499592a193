import { Body, Controller, Delete, Get, HttpCode, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { By, Needs, Who, WithoutKey } from '../http/index.js';
import { type Actor, ApiTokens, NewTokenInput, type Principal } from '../identity/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

@ApiPart('tokens')
@Needs('account.self')
@WithoutKey()
@Controller('api/v1/tokens')
export class TokensController {
  constructor(private readonly tokens: ApiTokens) {}

  @Get()
  @ApiOperation({ summary: "One's own tokens for programs, without the tokens themselves" })
  async list(@Who() principal: Principal) {
    return { tokens: await this.tokens.ofAccount(principal.accountId) };
  }

  @Post()
  @ApiOperation({ summary: 'Make a token for a program; the answer shows it for the only time' })
  @Takes(NewTokenInput)
  async make(@Body() body: unknown, @Who() principal: Principal, @By() actor: Actor) {
    return await this.tokens.make(body, principal, actor);
  }

  @Delete(':id')
  @HttpCode(204)
  @ApiOperation({ summary: 'End a token' })
  async end(@Param('id') id: string, @Who() principal: Principal, @By() actor: Actor): Promise<void> {
    await this.tokens.end(principal.accountId, requireId(id, 'id'), actor);
  }
}
