import { DomainError } from '../base/index.js';
import type { Slot } from './slots.js';

/** How many free times a refusal names. */
const NAMED = 3;

/** LINK.NOT_OFFERED: a client chose by her link what is none of the free times, or no longer. */
export function notOffered(free: readonly Slot[]): DomainError {
  return new DomainError(
    'conflict',
    'LINK.NOT_OFFERED',
    'That time is not free, or no longer. Please choose one of those shown.',
    [{ field: 'startsAt', message: 'Start: choose one of the free times.' }],
    { nextFree: free.slice(0, NAMED) },
  );
}
