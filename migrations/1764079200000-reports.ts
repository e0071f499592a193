import { type MigrationInterface, type QueryRunner, TableIndex } from 'typeorm';
import {
  createTables,
  dropTables,
  flag,
  id,
  index,
  instant,
  link,
  real,
  ref,
  type TableText,
  text,
  whole,
} from './schema.js';

const TABLES: readonly TableText[] = [
  {
    name: 'demand_forecast',
    columns: [
      id(),
      ref('salonId'),
      text('madeOn', 10),
      text('weekStartsOn', 10),
      real('visits'),
      real('visitsLow'),
      real('visitsHigh'),
      real('minutes'),
      real('minutesLow'),
      real('minutesHigh'),
      real('bookedMinutes'),
      real('capacityMinutes'),
      flag('afterwards', { default: false }),
      instant('madeAt'),
    ],
    links: [link('salonId', 'salon', 'CASCADE')],
    indices: [index(['salonId', 'madeOn', 'weekStartsOn'], true)],
  },
  {
    name: 'nudge_hold_out',
    columns: [id(), whole('version'), ref('salonId'), whole('percent'), instant('since')],
    links: [link('salonId', 'salon', 'CASCADE')],
    indices: [index(['salonId'], true)],
  },
];

/** What figures look up they read from these alone, in order; most take the place of a shorter one. */
const WIDER = [
  {
    table: 'visit',
    was: ['clientId', 'visitOn'],
    name: 'visit_figures',
    columns: [
      'clientId',
      'visitOn',
      'closedAt',
      'salonId',
      'staffId',
      'serviceId',
      'formulaId',
      'dayEndsAt',
      'priceMinor',
      'suggestedEarliestOn',
      'suggestedDueOn',
      'suggestedLatestOn',
    ],
  },
  {
    table: 'appointment',
    was: ['clientId', 'startsAt'],
    name: 'appointment_ahead',
    columns: ['clientId', 'startsAt', 'bookedAt', 'cancelledAt'],
  },
  {
    table: 'message',
    was: ['clientId'],
    name: 'message_of_client',
    columns: ['clientId', 'kind', 'state', 'sentAt'],
  },
  {
    table: 'message',
    was: ['appointmentId'],
    name: 'message_of_appointment',
    columns: ['appointmentId', 'kind', 'state', 'sentAt'],
  },
  {
    table: 'measurement',
    was: ['clientId', 'measuredOn'],
    name: 'measurement_figures',
    columns: ['clientId', 'measuredOn', 'zone', 'id', 'lengthMm'],
  },
  {
    table: 'hold_limit',
    was: ['formulaId'],
    name: 'hold_limit_figures',
    columns: ['formulaId', 'zone', 'kind', 'against', 'by', 'value'],
  },
  { table: 'cut_formula', was: null, name: 'formula_names', columns: ['id', 'name'] },
] as const;

/** Forecasts kept to be scored, the owner's test of nudges, and what makes figures quick. */
export class Reports1764079200000 implements MigrationInterface {
  readonly name = 'Reports1764079200000';

  async up(runner: QueryRunner): Promise<void> {
    await createTables(runner, TABLES);
    for (const { table, was, name, columns } of WIDER) {
      await runner.createIndex(table, new TableIndex({ name, columnNames: [...columns] }));
      if (was) await runner.dropIndex(table, index([...was]));
    }
  }

  async down(runner: QueryRunner): Promise<void> {
    for (const { table, was, name } of WIDER) {
      if (was) await runner.createIndex(table, index([...was]));
      await runner.dropIndex(table, name);
    }
    await dropTables(runner, TABLES);
  }
}
