import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { MESSAGE_KINDS, type Preview, SalonWords } from '../reminders/index.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front } from './front.js';
import { MESSAGE_KIND_WORDS } from './words.js';

const CHANNELS = { mail: 'mail', text: 'text' } as const;

type Key = { readonly kind: string; readonly channel: string; readonly language: string };

/** "GSM-7, 1 segment" as people who pay for texts read it. */
function cost({ segments }: Preview): string {
  if (!segments) return '';
  const parts = segments.segments === 1 ? '1 segment' : `${segments.segments} segments`;
  const why = segments.alphabet === 'UCS-2' ? ': some of its characters make every segment shorter' : '';
  return `Goes out as ${parts} (${segments.units} units of ${segments.alphabet}${why}).`;
}

/** The owner's own words for every kind of message. */
@Needs('salon.write')
@Controller('messages/words')
export class MessageTemplatesPages {
  constructor(
    private readonly front: Front,
    private readonly words: SalonWords,
  ) {}

  @Get()
  async list(@Called() call: Call): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const language = new Intl.Locale(salon.locale).language;
    const own = await this.words.own(salon.id);
    await renderPage(call, 'message-words', {
      heading: 'Words of the messages',
      kinds: MESSAGE_KINDS.map((kind) => ({
        kind,
        words: MESSAGE_KIND_WORDS[kind] ?? kind,
        channels: Object.entries(CHANNELS).map(([channel, label]) => ({
          href: `/messages/words/${kind}/${channel}/${language}`,
          label,
          number: own.find((one) => one.kind === kind && one.channel === channel && one.language === language)
            ?.number,
        })),
      })),
    });
  }

  @Get(':kind/:channel/:language')
  async edit(@Called() call: Call, @Param() key: Key): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const { subject, body, number } = await this.words.get({ ...key, salonId: salon.id });
    const values = { subject, body, clientId: '', expectedNumber: `${number}` };
    const preview = await this.words.preview({ ...key, salonId: salon.id }, { subject, body });
    await this.show(call, key, openForm(values), preview);
  }

  /** Shows how the words read, keeps them, or goes back to the program's, by the button that was pressed. */
  @Post(':kind/:channel/:language')
  async change(@Called() call: Call, @Param() key: Key, @Body() body: unknown): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const { act, ...values } = typedValues(body);
    const { kind, channel, language } = key;
    const own = { kind, channel, language, salonId: salon.id };
    await answerForm({
      call,
      values,
      again: (form) => this.show(call, key, form),
      work: async () => {
        if (act === 'restore') {
          await this.words.restore(own, call.actor);
          leaveNotice(call, 'Back to the words that come with the program.');
          await call.redirectTo('/messages/words');
        } else if (act === 'save') {
          const { number } = await this.words.save(own, values, call.actor);
          leaveNotice(call, `Saved as version ${number}; messages use it from now on.`);
          await call.redirectTo('/messages/words');
        } else {
          const preview = await this.words.preview(own, values);
          void call.reply.status(200);
          await this.show(call, key, openForm(values), preview);
        }
      },
    });
  }

  private async show(call: Call, key: Key, form: FormState, preview?: Preview): Promise<void> {
    const { salon } = await this.front.setting(call.principal);
    const { kind, channel, language } = key;
    const { names, number } = await this.words.get({ kind, channel, language, salonId: salon.id });
    const clients = await this.words.examples(salon.id);
    await renderPage(call, 'message-words-edit', {
      heading: `${MESSAGE_KIND_WORDS[kind] ?? kind}, ${channel === 'mail' ? 'by mail' : 'by text'}`,
      form,
      action: `/messages/words/${kind}/${channel}/${language}`,
      isMail: channel === 'mail',
      names: names.map((name) => `{{${name}}}`),
      number,
      clients: clients.map(({ id, name }) => ({ value: id, label: name })),
      preview: preview && { ...preview, cost: cost(preview) },
    });
  }
}
