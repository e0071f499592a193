import { Body, Controller, Get, Param, Post } from '@nestjs/common';
import { dateIn } from '../base/index.js';
import { CHANNELS, type Channel, Clients, type Consent, PURPOSES, type Purpose } from '../clients/index.js';
import { Call, Called, leaveNotice, Needs, renderPage } from '../http/index.js';
import { dayText } from './days.js';
import { answerForm, type FormState, openForm, typedValues } from './forms.js';
import { Front, type Setting } from './front.js';
import { nameOf, type Option } from './words.js';

const PURPOSE_WORDS: Record<Purpose, { readonly heading: string; readonly short: string }> = {
  appointment: { heading: 'About her appointments and skin tests', short: 'Appointments' },
  rebooking: { heading: 'Invitations to come again', short: 'Invitations' },
};
const CHANNEL_WORDS: Record<Channel, string> = { mail: 'by mail', text: 'by text message' };
const SOURCE_WORDS: Record<string, string> = {
  desk: 'told us',
  link: 'by a link in a message',
  text: 'by text message',
  import: 'taken over',
};
const ANSWERS: readonly Option[] = [
  { value: 'yes', label: 'Yes' },
  { value: 'no', label: 'No' },
];

const GIVEN: Readonly<Record<string, boolean>> = { yes: true, no: false };

type Question = { readonly name: string; readonly channel: Channel; readonly purpose: Purpose };

const QUESTIONS: readonly Question[] = PURPOSES.flatMap((purpose) =>
  CHANNELS.map((channel) => ({ name: `${purpose}.${channel}`, channel, purpose })),
);

const answerTo = ({ channel, purpose }: Question, all: readonly Consent[]) =>
  all.find((one) => one.channel === channel && one.purpose === purpose);

const typedOf = (answer: Consent | undefined) => (answer ? (answer.given ? 'yes' : 'no') : '');

/** What a client wants to be sent, as she told the desk. */
@Controller('clients/:id/messages')
export class ConsentsPages {
  constructor(
    private readonly front: Front,
    private readonly clients: Clients,
  ) {}

  @Needs('client.read')
  @Get()
  async page(@Called() call: Call, @Param('id') id: string): Promise<void> {
    await this.show(call, id);
  }

  @Needs('client.write')
  @Post()
  async answered(@Called() call: Call, @Param('id') id: string, @Body() body: unknown): Promise<void> {
    const values = typedValues(body);
    await answerForm({
      call,
      values,
      again: (form) => this.show(call, id, form),
      work: async () => {
        const all = await this.clients.consents(id);
        // An answer that stands is not given anew: its day and source would be lost.
        const fresh = QUESTIONS.flatMap((question) => {
          const { name, channel, purpose } = question;
          const typed = values[name] ?? '';
          if (typed === '' || typed === typedOf(answerTo(question, all))) return [];
          return [{ channel, purpose, given: GIVEN[typed] ?? typed }];
        });
        const { givenName } = await this.clients.get(id);
        if (fresh.length > 0) await this.clients.setConsents(id, fresh, call.actor);
        leaveNotice(
          call,
          `What ${givenName} wants to be sent is ${fresh.length > 0 ? 'saved' : 'as it was'}.`,
        );
        await call.redirectTo(`/clients/${id}`);
      },
    });
  }

  private async show(call: Call, id: string, refused?: FormState): Promise<void> {
    const setting = await this.front.setting(call.principal);
    const client = await this.clients.get(id);
    const all = await this.clients.consents(id);
    const standing = QUESTIONS.map((question) => [question.name, typedOf(answerTo(question, all))]);
    await renderPage(call, 'consents', {
      heading: `Messages to ${nameOf(client)}`,
      client,
      name: nameOf(client),
      form: refused ?? openForm(Object.fromEntries(standing)),
      answers: ANSWERS,
      lacks: [!client.email && 'mail address', !client.phone && 'phone number']
        .filter(Boolean)
        .join(' and no '),
      parts: PURPOSES.map((purpose) => ({
        words: PURPOSE_WORDS[purpose].heading,
        questions: QUESTIONS.filter((question) => question.purpose === purpose).map((question) => ({
          name: question.name,
          label: `${PURPOSE_WORDS[purpose].short} ${CHANNEL_WORDS[question.channel]}`,
          since: sinceText(answerTo(question, all), setting),
        })),
      })),
    });
  }
}

function sinceText(answer: Consent | undefined, { salon, spoken }: Setting): string {
  if (!answer) return '';
  const on = dayText(dateIn(salon.zone, answer.at), spoken);
  return `${answer.given ? 'Yes' : 'No'} since ${on}, ${SOURCE_WORDS[answer.source] ?? answer.source}`;
}
