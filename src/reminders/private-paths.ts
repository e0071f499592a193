import type { EntityManager } from 'typeorm';
import type { Clock } from '../base/index.js';
import { Appointment, type ClientLinks, WaitingOffer, type WaitingOffers } from '../book/index.js';
import { issueShapeLink, ShapeWindow } from '../rebooking/index.js';
import { rowsBy } from '../store/index.js';
import type { Message } from './entities.js';
import { KINDS } from './kinds.js';

/**
 * The private link that a message carries, made anew whenever it is taken in hand: only a hash of it is kept, so it
 * cannot be read again for another try.
 */
export class PrivatePaths {
  constructor(
    private readonly clientLinks: Pick<ClientLinks, 'issueAll'>,
    private readonly offers: Pick<WaitingOffers, 'issue'>,
    private readonly clock: Clock,
  ) {}

  /** Path by message, for those that have something to link to. */
  async issue(manager: EntityManager, messages: readonly Message[]): Promise<ReadonlyMap<string, string>> {
    const paths = new Map<string, string>();
    const of = (link: 'appointment' | 'offer' | 'shape') =>
      messages.filter(({ kind }) => KINDS[kind].link === link);
    const booked = await found(
      of('appointment'),
      ({ appointmentId }) => appointmentId,
      (ids) => rowsBy(manager, Appointment, 'id', ids),
      ({ id }) => id,
    );
    if (booked.length > 0) {
      const appointments = booked.map(([, appointment]) => appointment);
      const tokens = await this.clientLinks.issueAll(manager, appointments);
      for (const [i, [{ id }]] of booked.entries()) paths.set(id, `/a/${tokens[i]}`);
    }
    for (const [message, offer] of await found(
      of('offer'),
      ({ aboutId }) => aboutId,
      (ids) => rowsBy(manager, WaitingOffer, 'id', ids),
      ({ id }) => id,
    )) {
      paths.set(message.id, `/o/${await this.offers.issue(manager, offer)}`);
    }
    for (const [message, window] of await found(
      of('shape'),
      ({ clientId }) => clientId,
      (ids) => rowsBy(manager, ShapeWindow, 'clientId', ids),
      ({ clientId }) => clientId,
    )) {
      paths.set(message.id, `/n/${await issueShapeLink(manager, window, this.clock.now())}`);
    }
    return paths;
  }
}

/** Each message with what it is about, all of it fetched at once. */
async function found<T>(
  messages: readonly Message[],
  about: (message: Message) => string | null,
  fetch: (ids: string[]) => Promise<T[]>,
  key: (row: T) => string,
): Promise<[Message, T][]> {
  const ids = [...new Set(messages.flatMap((message) => about(message) ?? []))];
  if (ids.length === 0) return [];
  const rows = new Map((await fetch(ids)).map((row) => [key(row), row]));
  return messages.flatMap((message): [Message, T][] => {
    const row = rows.get(about(message) ?? '');
    return row ? [[message, row]] : [];
  });
}
