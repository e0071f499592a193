import type { EntityManager } from 'typeorm';
import { type Channel, Client, Consent, type Purpose } from '../clients/index.js';

export type Reach =
  | { readonly channel: Channel; readonly address: string }
  | { readonly channel: Channel; readonly unreachable: 'no-address' | 'refused' };

/**
 * Where a client may be told something, by what is known this moment. Mail is the only channel so far. Messages
 * about her own appointments are welcome wherever she gave an address, unless the newest answer for the channel
 * is no; for any other purpose only a yes will do.
 */
export async function reachOf(manager: EntityManager, clientId: string, purpose: Purpose): Promise<Reach> {
  const channel = 'mail';
  const client = await manager.findOneBy(Client, { id: clientId });
  if (!client?.email) return { channel, unreachable: 'no-address' };
  const answer = await manager.findOne(Consent, {
    where: { clientId, channel, purpose },
    order: { at: 'DESC', id: 'DESC' },
  });
  const welcome = answer?.given ?? purpose === 'appointment';
  return welcome ? { channel, address: client.email } : { channel, unreachable: 'refused' };
}
