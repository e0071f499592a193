import { type ClientRecord, Clients } from '../../src/clients/index.js';
import { type Actor, SYSTEM } from '../../src/identity/index.js';
import type { TestStore } from './salon.js';

/** A valid client to add: an invented grown-up with nothing but a name and a birthday. */
export const CLIENT_INPUT = { givenName: 'Ottilie', familyName: 'Farnsby', birthday: '1984-05-27' };

export function clientsOf({ units, reader, clock, audit }: TestStore): Clients {
  return new Clients(units, reader, clock, audit);
}

/** Adds a client to the salon; `changes` overrides or adds fields. */
export async function makeClient(
  store: TestStore,
  salonId: string,
  changes: Record<string, unknown> = {},
  actor: Actor = SYSTEM,
): Promise<ClientRecord> {
  const { client } = await clientsOf(store).add({ ...CLIENT_INPUT, salonId, ...changes }, actor);
  return client;
}
