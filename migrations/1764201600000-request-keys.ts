import type { MigrationInterface, QueryRunner } from 'typeorm';
import { createTables, dropTables, index, instant, ref, type TableText, text, words } from './schema.js';

const TABLES: readonly TableText[] = [
  {
    name: 'request_key',
    columns: [
      { name: 'id', type: 'varchar', length: '64', isPrimary: true },
      text('fingerprint', 64),
      ref('holder'),
      instant('madeAt'),
      instant('heldUntil'),
      instant('changedAt', { nullable: true }),
      words('changed', { nullable: true }),
      words('answer', { nullable: true }),
    ],
    links: [],
    indices: [index(['madeAt'])],
  },
];

/** What was asked under a key that the asker chose, and what it was answered: so that asking again does nothing twice. */
export class RequestKeys1764201600000 implements MigrationInterface {
  readonly name = 'RequestKeys1764201600000';

  async up(runner: QueryRunner): Promise<void> {
    await createTables(runner, TABLES);
  }

  async down(runner: QueryRunner): Promise<void> {
    await dropTables(runner, TABLES);
  }
}
