import { Injectable } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { type Channel, Clients, type Purpose } from '../clients/index.js';
import { Links } from './links.js';

/** What the link in a message offers to end; says nothing of whom it was sent to. */
export type UnsubscribeOffer = { readonly channel: Channel; readonly purpose: Purpose };

/** Ends messages for whoever holds the link of one: no account, no sign-in. */
@Injectable()
export class Unsubscribe {
  constructor(
    private readonly links: Links,
    private readonly clients: Clients,
  ) {}

  /** Throws UNSUBSCRIBE.NOT_FOUND for a link that we did not make. */
  offer(token: string): UnsubscribeOffer {
    const { channel, purpose } = this.open(token);
    return { channel, purpose };
  }

  /** From now on nothing goes out to this client by this channel for this purpose; doing it twice is the same. */
  async end(token: string): Promise<void> {
    await this.answer(token, false);
  }

  /** For one who pressed by mistake. */
  async resume(token: string): Promise<void> {
    await this.answer(token, true);
  }

  private async answer(token: string, given: boolean): Promise<void> {
    const { clientId, channel, purpose } = this.open(token);
    const answer = { channel, purpose, given, source: 'link' };
    await this.clients.setConsent(clientId, answer, { accountId: null, role: 'client' });
  }

  private open(token: string) {
    const found = this.links.unsubscription(token);
    if (!found) {
      throw new DomainError(
        'not-found',
        'UNSUBSCRIBE.NOT_FOUND',
        'This link is not complete. Please copy all of it from the message, or call the salon.',
      );
    }
    return found;
  }
}
