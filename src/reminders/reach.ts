import type { EntityManager } from 'typeorm';
import { CHANNELS, type Channel, Client, Consent, type Purpose } from '../clients/index.js';

export type Reach =
  | { readonly channel: Channel; readonly address: string }
  | { readonly channel: Channel; readonly unreachable: 'no-address' | 'refused' };

type Addressee = Pick<Client, 'email' | 'phone'>;
type Answer = Pick<Consent, 'channel' | 'purpose' | 'given' | 'at' | 'id'>;

/**
 * Where a client may be told something, by mail before text, of the channels there are. What is about her own
 * appointments is welcome wherever she gave an address, until her newest answer for channel and purpose is no;
 * an invitation only where her newest answer is yes.
 */
export function reachBy(
  client: Addressee | null,
  answers: readonly Answer[],
  purpose: Purpose,
  channels: readonly Channel[],
): Reach {
  let refused: Channel | undefined;
  for (const channel of CHANNELS) {
    const address = channel === 'mail' ? client?.email : client?.phone;
    if (!channels.includes(channel) || !address) continue;
    const given = newest(answers, channel, purpose)?.given;
    if (given === true || (given === undefined && purpose === 'appointment')) return { channel, address };
    refused ??= channel;
  }
  return refused === undefined
    ? { channel: channels[0] ?? 'mail', unreachable: 'no-address' }
    : { channel: refused, unreachable: 'refused' };
}

function newest(answers: readonly Answer[], channel: Channel, purpose: Purpose): Answer | undefined {
  return answers
    .filter((answer) => answer.channel === channel && answer.purpose === purpose)
    .reduce<Answer | undefined>(
      (best, answer) =>
        !best || answer.at > best.at || (answer.at === best.at && answer.id > best.id) ? answer : best,
      undefined,
    );
}

/** `reachBy` for what is known this moment. */
export async function reachOf(
  manager: EntityManager,
  clientId: string,
  purpose: Purpose,
  channels: readonly Channel[],
): Promise<Reach> {
  const client = await manager.findOne(Client, {
    select: { id: true, email: true, phone: true },
    where: { id: clientId },
  });
  const answers = await manager.findBy(Consent, { clientId, purpose });
  return reachBy(client, answers, purpose, channels);
}
