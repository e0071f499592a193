import type { MigrationInterface, QueryRunner } from 'typeorm';
import {
  createTables,
  dropTables,
  flag,
  id,
  index,
  instant,
  link,
  ref,
  type TableText,
  text,
  whole,
  words,
} from './schema.js';

const TABLES: readonly TableText[] = [
  {
    name: 'webhook',
    columns: [
      id(),
      whole('version'),
      ref('salonId'),
      text('url', 500),
      words('events'),
      words('secret'),
      words('formerSecret', { default: '' }),
      instant('formerUntil', { nullable: true }),
      flag('active', { default: true }),
      instant('madeAt'),
      instant('failingSince', { nullable: true }),
      instant('gaveUpAt', { nullable: true }),
    ],
    links: [link('salonId', 'salon', 'CASCADE')],
    indices: [index(['salonId'])],
  },
  {
    name: 'webhook_delivery',
    columns: [
      id(),
      ref('webhookId'),
      ref('clientId', { nullable: true }),
      ref('eventId'),
      text('type', 40),
      text('subject', 80),
      words('data'),
      instant('happenedAt'),
      instant('dueAt'),
      text('state', 12),
      whole('attempts', { default: 0 }),
      instant('notBefore', { nullable: true }),
      ref('leaseId', { nullable: true }),
      instant('sentAt', { nullable: true }),
      whole('lastStatus', { nullable: true }),
      words('lastError', { nullable: true }),
    ],
    links: [link('webhookId', 'webhook', 'CASCADE'), link('clientId', 'client', 'CASCADE')],
    indices: [index(['state', 'dueAt']), index(['webhookId', 'eventId'], true), index(['clientId'])],
  },
];

/** Addresses that are told of what happens, and what is owed to them. */
export class Webhooks1764201600001 implements MigrationInterface {
  readonly name = 'Webhooks1764201600001';

  async up(runner: QueryRunner): Promise<void> {
    await createTables(runner, TABLES);
  }

  async down(runner: QueryRunner): Promise<void> {
    await dropTables(runner, TABLES);
  }
}
