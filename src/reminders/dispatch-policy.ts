export type DispatchPolicy = {
  /** After so many attempts a message has failed and is the desk's. */
  readonly maxAttempts: number;
  /** Messages in hand at a time, each on a connection of its own. */
  readonly atOnce: number;
  /** A sending that is not handed over by then is cut short, in milliseconds. */
  readonly sendWithinMs: number;
  /** How long the answer to what was handed over is waited for. */
  readonly answerWithinMs: number;
  /** Kept free for recording the outcome, on a machine or a disk however busy. */
  readonly recordWithinMs: number;
  /** How long a dispatcher may keep messages in hand; longer than all of these, or two would send the same. */
  readonly leaseMs: number;
  /** From 0 (included) to 1 (excluded). */
  readonly random: () => number;
};

export const DISPATCH_POLICY = Symbol('dispatch policy');

export const USUAL_POLICY: DispatchPolicy = {
  maxAttempts: 8,
  atOnce: 16,
  ...within(30_000),
  random: Math.random,
};

function within(sendWithinMs: number) {
  return {
    sendWithinMs,
    answerWithinMs: 2 * sendWithinMs,
    recordWithinMs: 2 * sendWithinMs,
    // The sixth part is for judging and writing.
    leaseMs: 6 * sendWithinMs,
  };
}

/** The usual policy with the salon's own patience. */
export function policyFor(sendWithinMs: number): DispatchPolicy {
  return { ...USUAL_POLICY, ...within(sendWithinMs) };
}
