import { Inject, Injectable } from '@nestjs/common';
import { IsIn, IsOptional, IsString, Matches, MaxLength } from 'class-validator';
import { Clock, DomainError, validated } from '../base/index.js';
import { Client, Clients, PURPOSES } from '../clients/index.js';
import { Reader, SETTINGS, type Settings, UnitOfWork } from '../store/index.js';
import { Message } from './entities.js';
import { MessageEffects } from './message-effects.js';
import { requireSigned } from './signature.js';
import { recordUndelivered } from './undelivered.js';

const UUID = '[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}';

/** What became of a text after the gateway had taken it. */
export class TextReport {
  @Matches(new RegExp(`^${UUID}(\\.\\d{1,6})?$`), {
    message: 'id: give the Idempotency-Key the text came with.',
  })
  id: string;

  @IsIn(['delivered', 'undelivered'], { message: 'status: give delivered or undelivered.' })
  status: 'delivered' | 'undelivered';

  @IsOptional()
  @IsString({ message: 'reason: give it as text, or leave it out.' })
  @MaxLength(300, { message: 'reason: use at most 300 characters.' })
  reason?: string;
}

/** A text that a client sent. */
export class TextReply {
  @Matches(/^\+[1-9]\d{6,14}$/, { message: 'from: give the number in E.164, such as +442079460100.' })
  from: string;

  @IsString({ message: 'text: give what was written.' })
  @MaxLength(2000, { message: 'text: use at most 2,000 characters.' })
  text: string;
}

/**
 * Words that end texts at once, alone in a reply: those that mobile networks expect to work. CANCEL and END are left
 * out: to an appointment's client they mean the appointment, and a person must read them.
 */
const STOP_WORDS = ['STOP', 'STOPALL', 'STOP ALL', 'UNSUBSCRIBE', 'QUIT', 'OPTOUT', 'OPT OUT'];

export function isStopWord(text: string): boolean {
  return STOP_WORDS.includes(
    text
      .toUpperCase()
      .replace(/[^A-Z]+/g, ' ')
      .trim(),
  );
}

/** What the text gateway tells us, once its signature has been found good. */
@Injectable()
export class TextReports {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly clients: Clients,
    @Inject(SETTINGS) private readonly settings: Settings,
    private readonly effects: MessageEffects = new MessageEffects(),
  ) {}

  /**
   * Takes a report; one of a text that never arrived makes its message the desk's, as failed. A report about an
   * earlier try, or told twice, changes nothing. Signed over id and status.
   * Throws TEXT.SIGNATURE, INPUT.INVALID, MESSAGE.NOT_FOUND.
   */
  async report(input: unknown, header: unknown): Promise<void> {
    const { id: key, status, reason } = await this.signed(TextReport, input, header, ['id', 'status']);
    const [id = '', round = '0'] = key.split('.');
    const message = await this.reader.manager.findOneBy(Message, { id, channel: 'text' });
    if (!message) throw DomainError.notFound('MESSAGE.NOT_FOUND', 'message');
    if (status === 'delivered') return;
    const lastError = `The text gateway reported that it was not delivered${reason ? `: ${reason}` : '.'}`;
    await this.units.run((manager) =>
      recordUndelivered(manager, this.effects, { id, channel: 'text', round: Number(round) }, lastError),
    );
  }

  /**
   * Takes a client's reply; a stop word ends texts of every purpose to everybody with that number. Signed over from
   * and text. Throws TEXT.SIGNATURE, INPUT.INVALID.
   */
  async reply(input: unknown, header: unknown): Promise<{ readonly stopped: number }> {
    const { from, text } = await this.signed(TextReply, input, header, ['from', 'text']);
    if (!isStopWord(text)) return { stopped: 0 };
    const clients = await this.reader.manager.find(Client, { select: { id: true }, where: { phone: from } });
    for (const { id } of clients) {
      for (const purpose of PURPOSES) {
        const answer = { channel: 'text', purpose, given: false, source: 'text' };
        await this.clients.setConsent(id, answer, { accountId: null, role: 'client' });
      }
    }
    return { stopped: clients.length };
  }

  private async signed<T extends object>(
    type: new () => T,
    input: unknown,
    header: unknown,
    names: readonly (keyof T & string)[],
  ): Promise<T> {
    const signed = { secret: this.settings.textGateway?.secret, now: this.clock.now(), header, names };
    requireSigned(input, signed, { what: 'TEXT', secretName: 'TEXT_GATEWAY_SECRET' });
    return await validated(type, input);
  }
}
