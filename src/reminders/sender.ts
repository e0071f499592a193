import type { Patience } from './patience.js';

/** One mail, ready to go. */
export type OutgoingMail = {
  /** Stable for a message however often it is tried, so that a doubled mail can be recognised. */
  readonly messageId: string;
  readonly from: { readonly name: string; readonly address: string };
  readonly to: { readonly name: string; readonly address: string };
  readonly sentAt: number;
  readonly language: string;
  readonly subject: string;
  readonly text: string;
  readonly html: string;
  /** Where such messages can be ended; by one click (RFC 8058) when the address is https. */
  readonly unsubscribeUrl?: string;
  readonly calendar?: CalendarPart;
};

/** An iCalendar object (RFC 5545) that goes along. */
export type CalendarPart = {
  readonly method: 'PUBLISH' | 'CANCEL';
  readonly content: string;
};

/** One text message, ready to go. */
export type OutgoingText = {
  /** Idempotency key: a gateway that knows it has this text already. */
  readonly id: string;
  /** E.164. */
  readonly to: string;
  readonly from: string;
  readonly text: string;
};

/** A message that was not accepted. `permanent` says that trying the same again is useless (RFC 5321 4.2.1). */
export class DeliveryError extends Error {
  override readonly name = 'DeliveryError';

  constructor(
    message: string,
    readonly permanent: boolean,
    options?: ErrorOptions,
  ) {
    super(message, options);
  }
}

/** Port to whatever carries mail away. */
export abstract class Sender {
  /** Kept with the message: where it went. */
  abstract readonly name: 'smtp' | 'outbox';

  /**
   * Resolves once the mail is accepted for good; rejects with DeliveryError otherwise, also when patience is at an end.
   * It tells when all has been handed over; a mail that is cut short after that may have been accepted all the same.
   */
  abstract send(mail: OutgoingMail, patience: Patience): Promise<void>;

  /** Lets go of what is held open; nothing is sent afterwards. */
  close(): void {}
}

/** Port to whatever carries texts away; resolves and rejects as `Sender` does. */
export abstract class TextSender {
  abstract readonly name: 'gateway';

  abstract send(text: OutgoingText, patience: Pick<Patience, 'signal'>): Promise<void>;
}
