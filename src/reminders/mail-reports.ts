import { Inject, Injectable } from '@nestjs/common';
import { IsIn, IsOptional, IsString, Matches, MaxLength } from 'class-validator';
import { Clock, DomainError, validated } from '../base/index.js';
import { Reader, SETTINGS, type Settings, UnitOfWork } from '../store/index.js';
import { readDeliveryStatus } from './delivery-status.js';
import { Message } from './entities.js';
import { MessageEffects } from './message-effects.js';
import { requireSigned } from './signature.js';
import { recordUndelivered } from './undelivered.js';

const REASON_MAX = 300;

/** What became of a mail after the server had taken it, as a mail provider knows it. */
export class MailReport {
  @IsString({ message: 'id: give the Message-ID the mail came with.' })
  @Matches(/^<?[0-9a-f-]{36}@[^<>\s]{1,253}>?$/, { message: 'id: give the Message-ID the mail came with.' })
  id: string;

  @IsIn(['delivered', 'bounced'], { message: 'status: give delivered or bounced.' })
  status: 'delivered' | 'bounced';

  @IsOptional()
  @IsString({ message: 'reason: give it as text, or leave it out.' })
  @MaxLength(REASON_MAX, { message: `reason: use at most ${REASON_MAX} characters.` })
  reason?: string;
}

/** A mail that came back, whole. */
export class ReturnedMail {
  @IsString({ message: 'mail: give the whole mail as text.' })
  @MaxLength(200_000, {
    message: 'mail: use at most 200,000 characters; the header of what came back is enough.',
  })
  mail: string;
}

/** What whoever receives the bounces tells us, once its signature has been found good. */
@Injectable()
export class MailReports {
  private readonly domain: string;

  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
    @Inject(SETTINGS) private readonly settings: Settings,
    private readonly effects: MessageEffects = new MessageEffects(),
  ) {
    this.domain = new URL(settings.publicUrl).hostname;
  }

  /**
   * Takes a report; a mail that bounced makes its message the desk's, as failed. Told twice it changes nothing. Signed
   * over id and status. Throws MAIL.SIGNATURE, INPUT.INVALID, MESSAGE.NOT_FOUND.
   */
  async report(input: unknown, header: unknown): Promise<void> {
    const { id, status, reason } = await this.signed(MailReport, input, header, ['id', 'status']);
    await this.record(id.replace(/^<|>$/g, ''), status === 'bounced', reason);
  }

  /**
   * Takes a mail that a server sent back (RFC 3464). Signed over the mail. Throws MAIL.SIGNATURE, INPUT.INVALID,
   * MAIL.NO_REPORT for another kind of mail, MESSAGE.NOT_FOUND.
   */
  async returned(input: unknown, header: unknown): Promise<void> {
    const { mail } = await this.signed(ReturnedMail, input, header, ['mail']);
    const status = readDeliveryStatus(mail);
    if (!status) {
      throw DomainError.invalid(
        'MAIL.NO_REPORT',
        'mail',
        'mail: this is no delivery status notification that names the mail it is about.',
      );
    }
    await this.record(status.messageId, status.failed, status.reason?.slice(0, REASON_MAX));
  }

  private async record(messageId: string, bounced: boolean, reason: string | undefined): Promise<void> {
    const [id = '', domain] = messageId.split('@');
    const known =
      domain === this.domain && (await this.reader.manager.existsBy(Message, { id, channel: 'mail' }));
    if (!known) throw DomainError.notFound('MESSAGE.NOT_FOUND', 'message');
    if (!bounced) return;
    const lastError = `The mail came back${reason ? `: ${reason}` : '.'}`;
    await this.units.run((manager) =>
      recordUndelivered(manager, this.effects, { id, channel: 'mail' }, lastError),
    );
  }

  private async signed<T extends object>(
    type: new () => T,
    input: unknown,
    header: unknown,
    names: readonly (keyof T & string)[],
  ): Promise<T> {
    const signed = { secret: this.settings.mailReportSecret, now: this.clock.now(), header, names };
    requireSigned(input, signed, { what: 'MAIL', secretName: 'MAIL_REPORT_SECRET' });
    return await validated(type, input);
  }
}
