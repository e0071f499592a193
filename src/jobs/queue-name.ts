import type { EntityTarget } from 'typeorm';
import { Message } from '../reminders/index.js';
import type { OwedRow } from '../store/index.js';
import { WebhookDelivery } from '../webhooks/index.js';

/** What a queue carries: its name in Redis, and whose rows its jobs are. */
export type Carried = {
  readonly queue: string;
  readonly entity: EntityTarget<OwedRow> & (abstract new () => OwedRow);
};

/** Name of the queue of messages in Redis. */
export const MESSAGE_QUEUE = 'halfinch-messages';

export const MESSAGES: Carried = { queue: MESSAGE_QUEUE, entity: Message };

export const DELIVERIES: Carried = { queue: 'halfinch-webhooks', entity: WebhookDelivery };
