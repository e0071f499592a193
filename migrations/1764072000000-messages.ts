import type { MigrationInterface, QueryRunner } from 'typeorm';
import {
  createTables,
  dropTables,
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
    name: 'message_rules',
    columns: [
      id(),
      whole('version'),
      ref('salonId'),
      words('reminderHours'),
      text('quietFrom', 5, { default: '20:00' }),
      text('quietUntil', 5, { default: '09:00' }),
      whole('nudgeMost', { default: 2 }),
      whole('nudgeWeeks', { default: 8 }),
    ],
    links: [link('salonId', 'salon', 'CASCADE')],
    indices: [index(['salonId'], true)],
  },
  {
    name: 'message_template',
    columns: [
      id(),
      ref('salonId'),
      text('kind', 40),
      text('channel', 10),
      text('language', 10),
      whole('number'),
      text('subject', 300, { nullable: true }),
      words('body', { nullable: true }),
      instant('savedAt'),
      ref('savedById', { nullable: true }),
    ],
    links: [link('salonId', 'salon', 'CASCADE'), link('savedById', 'account', 'SET NULL')],
    indices: [index(['salonId', 'kind', 'channel', 'language', 'number'], true)],
  },
  {
    name: 'message_run',
    columns: [
      id(),
      ref('salonId'),
      text('kind', 40),
      instant('startedAt'),
      ref('startedById', { nullable: true }),
      instant('stoppedAt', { nullable: true }),
    ],
    links: [link('salonId', 'salon', 'CASCADE'), link('startedById', 'account', 'SET NULL')],
    indices: [index(['salonId'])],
  },
];

/** Written as both databases understand it: TypeORM would copy the whole table on SQLite, losing what refers to it. */
const ADDED = [
  ['client', 'language', 'varchar(35)'],
  ['message', 'aboutId', 'varchar(36)'],
  ['message', 'runId', 'varchar(36)'],
  ['message', 'language', 'varchar(10)'],
  ['message', 'template', 'varchar(40)'],
  ['message', 'segments', 'integer'],
  ['message', 'round', 'integer NOT NULL DEFAULT (0)'],
] as const;

/** Rules, templates and runs of messages; the client's language; what a message was made of. */
export class Messages1764072000000 implements MigrationInterface {
  async up(runner: QueryRunner): Promise<void> {
    await createTables(runner, TABLES);
    for (const [table, column, type] of ADDED) {
      await runner.query(`ALTER TABLE "${table}" ADD COLUMN "${column}" ${type}`);
    }
    await runner.createIndex('message', index(['runId', 'state']));
  }

  async down(runner: QueryRunner): Promise<void> {
    await runner.dropIndex('message', index(['runId', 'state']));
    for (const [table, column] of [...ADDED].reverse()) {
      await runner.query(`ALTER TABLE "${table}" DROP COLUMN "${column}"`);
    }
    await dropTables(runner, TABLES);
  }
}
