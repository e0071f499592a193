import { Controller, Get, Inject, Param, Post, Query } from '@nestjs/common';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { MESSAGE_STATES, type MessageLine, type MessageState, Messages } from '../reminders/index.js';
import { SETTINGS, type Settings } from '../store/index.js';
import { answerForm, type FormState, openForm } from './forms.js';
import { Front } from './front.js';
import { messageRow } from './message-view.js';
import { MESSAGE_STATE_WORDS } from './words.js';

const SHOWN = 50;

/** Where mail goes, said plainly; a password in the address is not shown. */
function destination({ smtpUrl, outboxDir, textGateway }: Settings): string {
  const texts = textGateway
    ? ` Texts leave through ${new URL(textGateway.url).host}.`
    : ' No texts are sent: no text gateway is set up.';
  if (smtpUrl === undefined) {
    return `No mail server is set up: messages are written as files into ${outboxDir} and reach nobody.${texts}`;
  }
  return `Messages leave through the mail server ${new URL(smtpUrl).host}.${texts}`;
}

/** Which words a message was made from, and what a text cost. */
function madeFrom({ template, segments }: MessageLine): string {
  if (template === null) return '';
  const own = /^salon:(\d+)$/.exec(template)?.[1];
  const words = own ? `your own words, version ${own}` : 'the words that come with the program';
  return segments === null ? words : `${words}; ${segments} ${segments === 1 ? 'segment' : 'segments'}`;
}

@Controller('messages')
export class MessagesPages {
  constructor(
    private readonly front: Front,
    private readonly messages: Messages,
    @Inject(SETTINGS) private readonly settings: Settings,
  ) {}

  @Needs('message.read')
  @Get()
  async list(
    @Called() call: Call,
    @Query('state') asked?: string,
    @Query('before') before?: string,
  ): Promise<void> {
    const { salon, spoken, now } = await this.front.setting(call.principal);
    const state = MESSAGE_STATES.find((one): one is MessageState => one === asked);
    const lines = await this.messages.list({
      salonId: salon.id,
      limit: SHOWN,
      ...(state && { state }),
      ...(before && { before }),
    });
    const counts = await this.messages.counts(salon.id);
    await renderPage(call, 'messages', {
      heading: 'Messages',
      destination: destination(this.settings),
      states: [
        { value: '', words: 'all', count: '', here: state === undefined },
        ...MESSAGE_STATES.map((value) => ({
          value,
          words: MESSAGE_STATE_WORDS[value],
          count: counts[value],
          here: state === value,
        })),
      ],
      lines: lines.map((line) => messageRow(line, salon.zone, spoken, now)),
      state: state ?? '',
      older: lines.length === SHOWN ? lines.at(-1)?.id : undefined,
    });
  }

  @Needs('message.read')
  @Get(':id')
  async message(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.show(call, id, openForm());
  }

  @Needs('message.write')
  @Post(':id/retry')
  async retry(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await answerForm({
      call,
      values: {},
      again: (form) => this.show(call, id, form),
      work: async () => {
        await this.messages.retry(id, call.actor);
        leaveNotice(call, 'The message will be tried again now.');
        await call.redirectTo(`/messages/${id}`);
      },
    });
  }

  private async show(call: Call, id: string, form: FormState): Promise<void> {
    const { salon, spoken, now } = await this.front.setting(call.principal);
    const { body, ...line } = await this.messages.get(id);
    const row = messageRow(line, salon.zone, spoken, now);
    await renderPage(call, 'message', {
      heading: `${row.kind} to ${row.clientName}`,
      form,
      row,
      made: madeFrom(line),
      text: body,
      destination: destination(this.settings),
    });
  }
}
