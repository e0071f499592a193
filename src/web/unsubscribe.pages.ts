import { Controller, Get, HttpCode, Param, Post, Req, Res } from '@nestjs/common';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { Open, renderPage } from '../http/index.js';
import { Unsubscribe, type UnsubscribeOffer } from '../reminders/index.js';

const CHANNELS = { mail: 'mails', text: 'text messages' } as const;
const PURPOSES = {
  appointment: 'about your appointments',
  rebooking: 'that invite you to come again',
} as const;

function inWords({ channel, purpose }: UnsubscribeOffer): string {
  return `${CHANNELS[channel]} ${PURPOSES[purpose]}`;
}

/**
 * Where the link in a message leads. Looking changes nothing, because programs that check mail look too; the button
 * does, and so does the one click of a mail program (RFC 8058), which posts here without having looked.
 */
@Open()
@Controller('unsubscribe')
export class UnsubscribePages {
  constructor(private readonly unsubscribe: Unsubscribe) {}

  @Get(':token')
  async ask(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('token') token: string,
  ): Promise<void> {
    await this.show(request, reply, token, 'ask');
  }

  @Post(':token')
  @HttpCode(200)
  async end(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('token') token: string,
  ): Promise<void> {
    await this.unsubscribe.end(token);
    await this.show(request, reply, token, 'ended');
  }

  @Post(':token/resume')
  @HttpCode(200)
  async resume(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('token') token: string,
  ): Promise<void> {
    await this.unsubscribe.resume(token);
    await this.show(request, reply, token, 'resumed');
  }

  private async show(
    request: FastifyRequest,
    reply: FastifyReply,
    token: string,
    state: 'ask' | 'ended' | 'resumed',
  ): Promise<void> {
    const offer = this.unsubscribe.offer(token);
    const headings = { ask: 'No more of these messages?', ended: 'That is done', resumed: 'You are back' };
    await renderPage(request, reply, 'unsubscribe', {
      heading: headings[state],
      words: inWords(offer),
      token,
      [state]: true,
    });
  }
}
