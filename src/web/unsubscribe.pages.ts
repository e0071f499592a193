import { Controller, Get, HttpCode, Param, Post } from '@nestjs/common';
import { Call, Called, Open, renderPage } from '../http/index.js';
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
  async ask(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.show(call, token, 'ask');
  }

  @Post(':token')
  @HttpCode(200)
  async end(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.unsubscribe.end(token);
    await this.show(call, token, 'ended');
  }

  @Post(':token/resume')
  @HttpCode(200)
  async resume(@Called() call: Call, @Param('token') token: string): Promise<void> {
    await this.unsubscribe.resume(token);
    await this.show(call, token, 'resumed');
  }

  private async show(call: Call, token: string, state: 'ask' | 'ended' | 'resumed'): Promise<void> {
    const offer = this.unsubscribe.offer(token);
    const headings = { ask: 'No more of these messages?', ended: 'That is done', resumed: 'You are back' };
    await renderPage(call, 'unsubscribe', {
      heading: headings[state],
      words: inWords(offer),
      token,
      [state]: true,
    });
  }
}
