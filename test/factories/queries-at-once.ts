import { Client } from 'pg';

type Running = Client & { readonly _getActiveQuery: () => unknown };

const PATCHED = Symbol.for('halfinch.queries-at-once');

/**
 * Has every connection to PostgreSQL refuse a question while it is being asked another: pg 8 queues it and warns, pg 9 will
 * not take it. Whoever asks several things at once in one unit of work (`Promise.all` over its manager) hears of it in the
 * spec that does so.
 */
export function refuseQueriesAtOnce(): void {
  const prototype = Client.prototype as Client & { [PATCHED]?: true };
  if (prototype[PATCHED]) return;
  prototype[PATCHED] = true;
  const query = prototype.query as (this: Client, ...asked: unknown[]) => unknown;
  prototype.query = function (this: Running, ...asked: unknown[]) {
    if (this._getActiveQuery()) {
      throw new Error('A connection to PostgreSQL was asked two things at once: wait for the first answer.');
    }
    return query.apply(this, asked);
  } as typeof prototype.query;
}
