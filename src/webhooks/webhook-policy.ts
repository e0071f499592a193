const DAY_MS = 86_400_000;

export type WebhookPolicy = {
  /** After so many attempts a delivery has failed and is the owner's: five to ten hours by `backoffMs`. */
  readonly maxAttempts: number;
  readonly atOnce: number;
  /** How long an answer is waited for, in milliseconds. */
  readonly withinMs: number;
  /** How long a delivery may be in hand; longer than the answer and its record may take. */
  readonly leaseMs: number;
  /** An address that nothing has reached for so long is switched off. */
  readonly givesUpAfterMs: number;
  /** From 0 (included) to 1 (excluded). */
  readonly random: () => number;
};

export const WEBHOOK_POLICY = Symbol('webhook policy');

export const USUAL_WEBHOOK_POLICY: WebhookPolicy = {
  maxAttempts: 8,
  atOnce: 8,
  withinMs: 10_000,
  leaseMs: 60_000,
  givesUpAfterMs: 3 * DAY_MS,
  random: Math.random,
};
