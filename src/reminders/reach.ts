import type { EntityManager } from 'typeorm';
import { type Channel, Client, Consent } from '../clients/index.js';

export type Reach =
  | { readonly channel: Channel; readonly address: string }
  | { readonly channel: Channel; readonly unreachable: 'no-address' | 'refused' };

/**
 * Where a client may be told about her own appointments, by what is known this moment. Mail is the only channel
 * so far. Such messages are welcome wherever she gave an address, until her newest answer for channel and
 * purpose is no; `Clients.mayMessage`, which wants a yes, is for messages nobody is waiting for.
 */
export async function reachOf(manager: EntityManager, clientId: string): Promise<Reach> {
  const channel = 'mail';
  const client = await manager.findOne(Client, {
    select: { id: true, email: true },
    where: { id: clientId },
  });
  if (!client?.email) return { channel, unreachable: 'no-address' };
  const answer = await manager.findOne(Consent, {
    where: { clientId, channel, purpose: 'appointment' },
    order: { at: 'DESC', id: 'DESC' },
  });
  if (answer?.given === false) return { channel, unreachable: 'refused' };
  return { channel, address: client.email };
}
