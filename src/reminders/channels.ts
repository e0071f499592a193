import type { Channel } from '../clients/index.js';
import type { Settings } from '../store/index.js';

/** The channels that are set up. Mail always is: without a server it goes to the outbox folder. */
export function channelsOf({ textGateway }: Pick<Settings, 'textGateway'>): readonly Channel[] {
  return textGateway ? ['mail', 'text'] : ['mail'];
}
