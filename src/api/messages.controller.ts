import { Body, Controller, Get, Headers, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { DomainError } from '../base/index.js';
import { By, Needs, Open, Who } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import {
  MailReport,
  MailReports,
  MESSAGE_STATES,
  type MessageState,
  Messages,
  ReturnedMail,
  TextReply,
  TextReport,
  TextReports,
} from '../reminders/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Takes } from './openapi.js';
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
  async list(@Who() who: Principal, @Query('state') state?: string, @Query('limit') limit?: string) {
    if (state !== undefined && !MESSAGE_STATES.includes(state as MessageState)) {
      throw DomainError.invalid(
        'INPUT.INVALID',
        'state',
        `state must be one of ${MESSAGE_STATES.join(', ')}.`,
      );
    }
    const salon = await this.salons.of(who);
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

/** For whoever receives the mails that come back: each call is signed, so that nobody signs in. */
@ApiPart('mails')
@Open()
@Controller('api/v1/mails')
export class MailsController {
  constructor(private readonly reports: MailReports) {}

  @Post('reports')
  @HttpCode(200)
  @ApiOperation({ summary: 'What became of a mail, told by a mail provider; signed over id and status' })
  @Takes(MailReport)
  async report(@Body() body: unknown, @Headers('x-halfinch-signature') signature?: string) {
    await this.reports.report(body, signature);
    return { taken: true };
  }

  @Post('returned')
  @HttpCode(200)
  @ApiOperation({ summary: 'A mail that a server sent back (RFC 3464), whole; signed over mail' })
  @Takes(ReturnedMail)
  async returned(@Body() body: unknown, @Headers('x-halfinch-signature') signature?: string) {
    await this.reports.returned(body, signature);
    return { taken: true };
  }
}

/** For the text gateway alone: each call is signed, so that nobody signs in. */
@ApiPart('texts')
@Open()
@Controller('api/v1/texts')
export class TextsController {
  constructor(private readonly reports: TextReports) {}

  @Post('reports')
  @HttpCode(200)
  @ApiOperation({ summary: 'What became of a text, told by the gateway; signed over id and status' })
  @Takes(TextReport)
  async report(@Body() body: unknown, @Headers('x-halfinch-signature') signature?: string) {
    await this.reports.report(body, signature);
    return { taken: true };
  }

  @Post('replies')
  @HttpCode(200)
  @ApiOperation({ summary: 'A text that a client sent; signed over from and text' })
  @Takes(TextReply)
  async reply(@Body() body: unknown, @Headers('x-halfinch-signature') signature?: string) {
    return await this.reports.reply(body, signature);
  }
}
