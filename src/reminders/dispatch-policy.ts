export type DispatchPolicy = {
  /** After so many attempts a message has failed and is the desk's. */
  readonly maxAttempts: number;
  /** Messages in hand at a time, each on a connection of its own. */
  readonly atOnce: number;
  /** A sending that takes longer is cut short, in milliseconds. */
  readonly sendWithinMs: number;
  /** How long a dispatcher may keep messages in hand; longer than `sendWithinMs`, or two would send the same. */
  readonly leaseMs: number;
  /** From 0 (included) to 1 (excluded). */
  readonly random: () => number;
};

export const DISPATCH_POLICY = Symbol('dispatch policy');

export const USUAL_POLICY: DispatchPolicy = {
  maxAttempts: 8,
  atOnce: 16,
  sendWithinMs: 30_000,
  leaseMs: 120_000,
  random: Math.random,
};

/** The usual policy with the salon's own patience: the lease always outlasts a sending four times. */
export function policyFor(sendWithinMs: number): DispatchPolicy {
  return { ...USUAL_POLICY, sendWithinMs, leaseMs: 4 * sendWithinMs };
}
