import { Controller, Get, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { DomainError } from '../base/index.js';
import { By, Needs } from '../http/index.js';
import type { Actor } from '../identity/index.js';
import { MESSAGE_STATES, type MessageState, Messages } from '../reminders/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart } from './openapi.js';
import { countParam, requireId } from './params.js';

@ApiPart('messages')
@Needs('message.read')
@Controller('api/v1/messages')
export class MessagesController {
  constructor(
    private readonly messages: Messages,
    private readonly salons: Salons,
  ) {}

  @Get()
  @ApiOperation({ summary: 'Messages owed, sent, failed or withdrawn' })
  async list(@Query('state') state?: string, @Query('limit') limit?: string) {
    if (state !== undefined && !MESSAGE_STATES.includes(state as MessageState)) {
      throw DomainError.invalid(
        'INPUT.INVALID',
        'state',
        `state must be one of ${MESSAGE_STATES.join(', ')}.`,
      );
    }
    const salon = await this.salons.only();
    return {
      messages: await this.messages.list({
        salonId: salon.id,
        ...(state !== undefined && { state: state as MessageState }),
        limit: countParam(limit, 'limit', 50, 200),
      }),
    };
  }

  @Post(':id/retry')
  @Needs('message.write')
  @HttpCode(200)
  @ApiOperation({ summary: 'Try a failed message again' })
  async retry(@Param('id') id: string, @By() actor: Actor) {
    return { message: await this.messages.retry(requireId(id, 'id'), actor) };
  }
}
