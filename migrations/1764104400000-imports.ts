import { type MigrationInterface, type QueryRunner, TableIndex } from 'typeorm';
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

const COUNTS = ['newRows', 'changedRows', 'sameRows', 'skippedRows', 'refusedRows'];

const TABLES: readonly TableText[] = [
  {
    name: 'import_run',
    columns: [
      id(),
      ref('salonId'),
      text('kind', 16),
      text('format', 10),
      text('fileName', 200),
      whole('pieces'),
      instant('bytes'),
      text('encoding', 12),
      text('delimiter', 1),
      words('survey'),
      words('settings'),
      text('state', 10),
      text('pass', 5, { nullable: true }),
      whole('rowsDone', { default: 0 }),
      ...COUNTS.map((name) => whole(name, { default: 0 })),
      words('problem', { nullable: true }),
      instant('leasedUntil', { nullable: true }),
      ref('leasedBy', { nullable: true }),
      instant('madeAt'),
      ref('madeById', { nullable: true }),
      instant('finishedAt', { nullable: true }),
    ],
    links: [link('salonId', 'salon', 'CASCADE'), link('madeById', 'account', 'SET NULL')],
    indices: [index(['salonId'])],
  },
  {
    name: 'import_batch',
    columns: [
      id(),
      ref('runId'),
      text('pass', 5),
      whole('position'),
      ...COUNTS.map((name) => whole(name)),
      words('lines'),
    ],
    links: [link('runId', 'import_run', 'CASCADE')],
    indices: [index(['runId', 'pass', 'position'], true)],
  },
  {
    name: 'imported_row',
    columns: [
      id(),
      ref('salonId'),
      ref('clientId'),
      ref('subjectId'),
      text('kind', 16),
      text('rowKey', 43),
      text('digest', 43),
      ref('runId'),
      whole('rowNumber'),
      instant('takenAt'),
    ],
    links: [link('salonId', 'salon', 'CASCADE'), link('clientId', 'client', 'CASCADE')],
    indices: [index(['clientId']), index(['salonId', 'kind', 'rowKey'], true)],
  },
];

const BY_BIRTHDAY = new TableIndex({ name: 'client_birthday', columnNames: ['salonId', 'birthday'] });

/** Files that are taken over, what became of their rows, and skin tests that were made elsewhere. */
export class Imports1764104400000 implements MigrationInterface {
  readonly name = 'Imports1764104400000';

  async up(runner: QueryRunner): Promise<void> {
    await runner.query(`ALTER TABLE "skin_test" ADD COLUMN "takenOverAt" bigint`);
    await runner.createIndex('client', BY_BIRTHDAY);
    await createTables(runner, TABLES);
  }

  async down(runner: QueryRunner): Promise<void> {
    await dropTables(runner, TABLES);
    await runner.dropIndex('client', BY_BIRTHDAY);
    await runner.query(`ALTER TABLE "skin_test" DROP COLUMN "takenOverAt"`);
  }
}
