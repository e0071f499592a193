import { Body, Controller, Get, Headers, HttpCode, Param, Post, Query } from '@nestjs/common';
import { ApiOperation } from '@nestjs/swagger';
import { By, Needs, Open, Who, WithoutKey } from '../http/index.js';
import type { Actor, Principal } from '../identity/index.js';
import {
  MailReport,
  MailReports,
  MESSAGE_KINDS,
  MESSAGE_STATES,
  Messages,
  ReturnedMail,
  TextReply,
  TextReport,
  TextReports,
} from '../reminders/index.js';
import { Salons } from '../salon/index.js';
import { ApiPart, Asks, Takes } from './openapi.js';
import { nextOf, Paged, type PagedList, type PageQuery, pageAsked } from './page.js';
import { choiceParam, requireId } from './params.js';

const MESSAGES: PagedList = { name: 'messages', key: ['text'], usual: 50, most: 200 };

type MessagesQuery = PageQuery & {
  readonly state?: string;
  readonly kind?: string;
  readonly clientId?: string;
};

@ApiPart('messages')
@Needs('message.read')
@Controller('api/v1/messages')
export class MessagesController {
  constructor(
    private readonly messages: Messages,
    private readonly salons: Salons,
  ) {}

  @Get()
  @Asks('state', 'kind', 'clientId')
  @Paged(MESSAGES)
  @ApiOperation({
    summary: 'Messages, newest first, in pages: of one `state`, `kind` or `clientId` where those are given',
  })
  async list(@Who() who: Principal, @Query() query: MessagesQuery) {
    const { state, kind, clientId, ...page } = query;
    const wish = {
      state: choiceParam(state, 'state', MESSAGE_STATES),
      kind: choiceParam(kind, 'kind', MESSAGE_KINDS),
      clientId: clientId ? requireId(clientId, 'clientId') : undefined,
    };
    const asked = pageAsked(MESSAGES, page);
    const salon = await this.salons.of(who);
    const { rows, next } = await this.messages.page(salon.id, wish, asked);
    return { messages: rows, next: nextOf(MESSAGES, next) };
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
@WithoutKey()
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
@WithoutKey()
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
