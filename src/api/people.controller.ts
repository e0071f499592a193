import { Body, Controller, Delete, Get, HttpCode, Param, Post } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { By, Needs, WithoutKey } from '../http/index.js';
import { Accounts, type Actor, NewAccountInput } from '../identity/index.js';
import { ApiPart, Takes } from './openapi.js';
import { requireId } from './params.js';

/** Who has an account: the owner's, and never a token's. */
@ApiPart('people')
@Needs('account.manage')
@WithoutKey()
@Controller('api/v1/people')
export class PeopleController {
  constructor(private readonly accounts: Accounts) {}

  @Get()
  @ApiOperation({ summary: 'Accounts by name, closed ones last' })
  async list() {
    return { accounts: await this.accounts.list() };
  }

  @Post()
  @ApiOperation({ summary: 'Add an account; the link, shown for the only time, sets its first password' })
  @Takes(NewAccountInput)
  async invite(@By() actor: Actor, @Body() body: unknown) {
    return await this.accounts.invite(body, actor);
  }

  @Post(':id/link')
  @ApiOperation({ summary: 'A fresh link to set a password; earlier ones are void' })
  async link(@By() actor: Actor, @Param('id') id: string) {
    return { link: await this.accounts.newLink(requireId(id, 'id'), actor) };
  }

  @Post(':id/closing')
  @HttpCode(200)
  @ApiOperation({ summary: 'Close an account; its sessions and tokens end' })
  async close(@By() actor: Actor, @Param('id') id: string) {
    return await this.setActive(id, false, actor);
  }

  @Post(':id/opening')
  @HttpCode(200)
  @ApiOperation({ summary: 'Open a closed account again' })
  async open(@By() actor: Actor, @Param('id') id: string) {
    return await this.setActive(id, true, actor);
  }

  @Delete(':id/sessions')
  @HttpCode(204)
  @ApiOperation({ summary: 'Sign somebody out everywhere' })
  async endSessions(@By() actor: Actor, @Param('id') id: string): Promise<void> {
    await this.accounts.endSessions(requireId(id, 'id'), actor);
  }

  @Delete(':id/codes')
  @HttpCode(204)
  @ApiOperation({ summary: "Take one-time codes off somebody's account; its sessions end" })
  async dropCodes(@By() actor: Actor, @Param('id') id: string): Promise<void> {
    await this.accounts.dropCodes(requireId(id, 'id'), actor);
  }

  private async setActive(id: string, active: boolean, actor: Actor) {
    const accountId = requireId(id, 'id');
    await this.accounts.setActive(accountId, active, actor);
    return { account: await this.accounts.get(accountId) };
  }
}
