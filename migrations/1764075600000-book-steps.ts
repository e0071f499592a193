import { type MigrationInterface, type QueryRunner, TableColumn } from 'typeorm';
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
    name: 'resource',
    columns: [
      id(),
      whole('version'),
      ref('salonId'),
      text('kind', 20),
      text('name', 80),
      flag('active', { default: true }),
    ],
    links: [link('salonId', 'salon', 'CASCADE')],
    indices: [index(['salonId'])],
  },
  {
    name: 'rota_change',
    columns: [
      id(),
      ref('staffId'),
      text('onDate', 10),
      text('startsAt', 5, { nullable: true }),
      text('endsAt', 5, { nullable: true }),
    ],
    links: [link('staffId', 'staff', 'CASCADE')],
    indices: [index(['staffId', 'onDate'])],
  },
  {
    name: 'booking_series',
    columns: [
      id(),
      whole('version'),
      ref('salonId'),
      ref('clientId'),
      text('name', 120),
      instant('madeAt'),
      ref('madeById', { nullable: true }),
    ],
    links: [
      link('salonId', 'salon'),
      link('clientId', 'client', 'CASCADE'),
      link('madeById', 'account', 'SET NULL'),
    ],
    indices: [index(['clientId'])],
  },
  {
    name: 'not_now',
    columns: [
      id(),
      ref('salonId'),
      ref('clientId'),
      text('reason', 20),
      words('words', { default: '' }),
      text('askAgainOn', 10, { nullable: true }),
      instant('saidAt'),
      ref('recordedById', { nullable: true }),
    ],
    links: [
      link('salonId', 'salon'),
      link('clientId', 'client', 'CASCADE'),
      link('recordedById', 'account', 'SET NULL'),
    ],
    indices: [index(['clientId', 'saidAt'])],
  },
  {
    name: 'waiting_entry',
    columns: [
      id(),
      whole('version'),
      ref('salonId'),
      ref('clientId'),
      ref('serviceId'),
      ref('staffId', { nullable: true }),
      text('fromDate', 10),
      text('toDate', 10),
      words('weekdays', { nullable: true }),
      text('timeFrom', 5, { nullable: true }),
      text('timeTo', 5, { nullable: true }),
      words('notes', { default: '' }),
      text('state', 10),
      instant('addedAt'),
      ref('appointmentId', { nullable: true }),
    ],
    links: [
      link('salonId', 'salon'),
      link('clientId', 'client', 'CASCADE'),
      link('serviceId', 'service'),
      link('staffId', 'staff', 'SET NULL'),
      link('appointmentId', 'appointment', 'SET NULL'),
    ],
    indices: [index(['salonId', 'state']), index(['clientId'])],
  },
  {
    name: 'waiting_offer',
    columns: [
      id(),
      whole('version'),
      ref('groupId'),
      ref('entryId'),
      ref('salonId'),
      ref('clientId'),
      ref('staffId'),
      ref('serviceId'),
      instant('startsAt'),
      instant('endsAt'),
      text('state', 10),
      instant('offeredAt'),
      instant('expiresAt'),
    ],
    links: [
      link('entryId', 'waiting_entry', 'CASCADE'),
      link('salonId', 'salon'),
      link('clientId', 'client', 'CASCADE'),
      link('staffId', 'staff'),
      link('serviceId', 'service'),
    ],
    indices: [index(['groupId']), index(['entryId'])],
  },
  {
    name: 'private_link',
    columns: [
      id(),
      text('tokenHash', 64),
      text('kind', 12),
      ref('clientId', { nullable: true }),
      ref('appointmentId', { nullable: true }),
      ref('offerId', { nullable: true }),
      ref('staffId', { nullable: true }),
      instant('issuedAt'),
      instant('expiresAt', { nullable: true }),
    ],
    links: [
      link('clientId', 'client', 'CASCADE'),
      link('appointmentId', 'appointment', 'CASCADE'),
      link('offerId', 'waiting_offer', 'CASCADE'),
      link('staffId', 'staff', 'CASCADE'),
    ],
    indices: [index(['tokenHash'], true), index(['appointmentId']), index(['staffId'])],
  },
];

/**
 * What earlier tables gain; null stands for how everything was before. Written as both databases understand it: TypeORM
 * would copy these tables on SQLite, and dropping the old copy would take along what refers to it.
 */
const ADDED = [
  ['salon', 'cancelNoticeHours', 'integer'],
  ['staff', 'skills', 'text'],
  ['service', 'steps', 'text'],
  ['service', 'resources', 'text'],
  ['service', 'skills', 'text'],
  ['appointment', 'steps', 'text'],
  ['appointment', 'resources', 'text'],
  ['appointment', 'seriesId', 'varchar(36)'],
  ['appointment', 'confirmedAt', 'bigint'],
] as const;

const RESOURCE_LINK = () => link('resourceId', 'resource');

/** SQLite changes a column by copying the table; TypeORM would make a new, empty column on PostgreSQL. */
async function mayHaveNoStylist(runner: QueryRunner, nullable: boolean): Promise<void> {
  if (runner.connection.options.type === 'sqlite') {
    await runner.changeColumn('claim', 'staffId', new TableColumn(ref('staffId', { nullable })));
  } else {
    const change = nullable ? 'DROP' : 'SET';
    await runner.query(`ALTER TABLE "claim" ALTER COLUMN "staffId" ${change} NOT NULL`);
  }
}

/** Services as steps that hold stylists and resources, rota by date, standing series, waiting list, private links. */
export class BookSteps1764075600000 implements MigrationInterface {
  readonly name = 'BookSteps1764075600000';

  async up(runner: QueryRunner): Promise<void> {
    await createTables(runner, TABLES);
    for (const [table, column, type] of ADDED) {
      await runner.query(`ALTER TABLE "${table}" ADD COLUMN "${column}" ${type}`);
    }
    await runner.createIndex('appointment', index(['seriesId']));
    // Nothing refers to a claim, so this table may be copied.
    await runner.addColumn('claim', new TableColumn(ref('resourceId', { nullable: true })));
    await mayHaveNoStylist(runner, true);
    await runner.createForeignKey('claim', RESOURCE_LINK());
    await runner.createIndex('claim', index(['resourceId', 'startsAt']));
  }

  async down(runner: QueryRunner): Promise<void> {
    await runner.query('DELETE FROM "claim" WHERE "staffId" IS NULL');
    await runner.dropIndex('claim', index(['resourceId', 'startsAt']));
    await runner.dropForeignKey('claim', RESOURCE_LINK());
    await mayHaveNoStylist(runner, false);
    await runner.dropColumn('claim', 'resourceId');
    await runner.dropIndex('appointment', index(['seriesId']));
    for (const [table, column] of [...ADDED].reverse()) {
      await runner.query(`ALTER TABLE "${table}" DROP COLUMN "${column}"`);
    }
    await dropTables(runner, TABLES);
  }
}
