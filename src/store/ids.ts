import { v7 } from 'uuid';

/** A new UUID v7 (RFC 9562): random, and sorted by the time it was made. */
export function newId(): string {
  return v7();
}
