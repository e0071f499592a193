import type { Leases, OwedRow, Taken } from './leases.js';

/**
 * What became of what one run took in hand. `waiting` will be tried again; `unneeded` had become pointless, or somebody
 * else's since the lease ran out.
 */
export type DispatchTally = { sent: number; waiting: number; failed: number; unneeded: number };

/** What became of one row. `waiting` is tried again at `until`; `failed` says why. */
export type Delivery =
  | { readonly outcome: 'sent' | 'unneeded' }
  | { readonly outcome: 'failed'; readonly words: string }
  | { readonly outcome: 'waiting'; readonly until: number };

type Holder<Held> = Pick<Leases<OwedRow, Held>, 'takeOne' | 'workOff'>;

const isWaiting = <Held extends object>(taken: Taken<Held>): taken is { readonly freeAt: number } =>
  'freeAt' in taken;
const isGone = <Held extends object>(taken: Taken<Held>): taken is { readonly gone: true } => 'gone' in taken;

/** Delivers what is due, within the bounds of `Leases.workOff` and as it stops and throws. */
export async function carryOutDue<Held>(
  leases: Pick<Holder<Held>, 'workOff'>,
  bounds: Parameters<Holder<Held>['workOff']>[0],
  deliver: (held: Held) => Promise<Delivery>,
  stopping?: AbortSignal,
): Promise<DispatchTally> {
  const tally: DispatchTally = { sent: 0, waiting: 0, failed: 0, unneeded: 0 };
  for (const { outcome } of await leases.workOff(bounds, deliver, stopping)) tally[outcome] += 1;
  return tally;
}

/** Delivers this row if it is due and nobody has it in hand for these `leaseMs` milliseconds. */
export async function carryOutOne<Held extends object>(
  leases: Pick<Holder<Held>, 'takeOne'>,
  id: string,
  leaseMs: number,
  deliver: (held: Held) => Promise<Delivery>,
): Promise<Delivery> {
  const taken = await leases.takeOne(id, leaseMs);
  if (isGone(taken)) return { outcome: 'unneeded' };
  if (isWaiting(taken)) return { outcome: 'waiting', until: taken.freeAt };
  return await deliver(taken);
}
