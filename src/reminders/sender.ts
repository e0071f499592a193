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
};

/** A mail that was not accepted. `permanent` says that trying the same again is useless (RFC 5321 4.2.1). */
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
   * Resolves once the mail is accepted for good; rejects with DeliveryError otherwise, also when `signal` cuts
   * it short. A mail that is cut short may have been accepted all the same.
   */
  abstract send(mail: OutgoingMail, signal: AbortSignal): Promise<void>;
}
