import type { MigrationInterface, QueryRunner } from 'typeorm';
import {
  createTables,
  dropTables,
  id,
  index,
  instant,
  link,
  real,
  ref,
  type TableText,
  text,
  whole,
  words,
} from './schema.js';

const TABLES: readonly TableText[] = [
  {
    name: 'visit_draft',
    columns: [
      id(),
      whole('version'),
      text('subject', 100),
      text('setAsideFor', 36, { default: '' }),
      ref('clientId'),
      words('body'),
      instant('savedAt'),
      ref('savedById', { nullable: true }),
    ],
    links: [link('clientId', 'client', 'CASCADE'), link('savedById', 'account', 'SET NULL')],
    indices: [index(['clientId']), index(['subject', 'setAsideFor'], true)],
  },
  {
    name: 'consultation',
    columns: [
      id(),
      ref('salonId'),
      ref('clientId'),
      ref('staffId'),
      ref('visitId', { nullable: true }),
      text('heldOn', 10),
      words('wantedShape', { default: '' }),
      ref('wantedFormulaId', { nullable: true }),
      words('why', { default: '' }),
      whole('dailyEffortMinutes', { nullable: true }),
      words('dailyEffort', { default: '' }),
      text('density', 8, { nullable: true }),
      text('texture', 8, { nullable: true }),
      text('wave', 8, { nullable: true }),
      words('growthPatterns'),
      words('hairNotes', { default: '' }),
      words('consents'),
      words('notes', { default: '' }),
      instant('recordedAt'),
      ref('recordedById', { nullable: true }),
    ],
    links: [
      link('salonId', 'salon'),
      link('clientId', 'client', 'CASCADE'),
      link('staffId', 'staff'),
      link('visitId', 'visit', 'SET NULL'),
      link('wantedFormulaId', 'cut_formula', 'SET NULL'),
      link('recordedById', 'account', 'SET NULL'),
    ],
    indices: [index(['clientId', 'heldOn'])],
  },
  {
    name: 'consultation_health',
    columns: [id(), ref('consultationId'), words('facts')],
    links: [link('consultationId', 'consultation', 'CASCADE')],
    indices: [index(['consultationId'], true)],
  },
  {
    name: 'photo',
    columns: [
      id(),
      ref('clientId'),
      ref('visitId'),
      text('angle', 10),
      text('moment', 6),
      text('file', 60),
      whole('widthPx'),
      whole('heightPx'),
      whole('bytes'),
      instant('addedAt'),
      ref('addedById', { nullable: true }),
    ],
    links: [
      link('clientId', 'client', 'CASCADE'),
      link('visitId', 'visit', 'CASCADE'),
      link('addedById', 'account', 'SET NULL'),
    ],
    indices: [index(['clientId']), index(['file'], true), index(['visitId', 'angle'])],
  },
  {
    name: 'colour_formula',
    columns: [
      id(),
      ref('clientId'),
      ref('visitId'),
      text('colouredOn', 10),
      text('name', 120),
      words('zones'),
      text('place', 18),
      real('developerPercent', { nullable: true }),
      real('developerParts', { nullable: true }),
      whole('minutes'),
      words('notes', { default: '' }),
      instant('recordedAt'),
      ref('recordedById', { nullable: true }),
    ],
    links: [
      link('clientId', 'client', 'CASCADE'),
      link('visitId', 'visit', 'CASCADE'),
      link('recordedById', 'account', 'SET NULL'),
    ],
    indices: [index(['visitId']), index(['clientId', 'colouredOn'])],
  },
  {
    name: 'colour_line',
    columns: [
      id(),
      ref('formulaId'),
      whole('position'),
      text('productLine', 120),
      text('shade', 60),
      real('parts'),
    ],
    links: [link('formulaId', 'colour_formula', 'CASCADE')],
    indices: [index(['formulaId', 'position'], true)],
  },
  {
    name: 'root_band_tolerance',
    columns: [id(), whole('version'), ref('clientId'), real('toleranceMm'), text('zone', 10)],
    links: [link('clientId', 'client', 'CASCADE')],
    indices: [index(['clientId'], true)],
  },
];

/** What a visit gains: the instant and the line for which the colour gate let it through. */
const ADDED = [
  ['visit', 'colourAt', 'bigint'],
  ['visit', 'productLine', 'varchar(120)'],
] as const;

/** Drafts, consultations, photographs, colour formulas. */
export class Chairside1764086400000 implements MigrationInterface {
  readonly name = 'Chairside1764086400000';

  async up(runner: QueryRunner): Promise<void> {
    for (const [table, column, type] of ADDED) {
      await runner.query(`ALTER TABLE "${table}" ADD COLUMN "${column}" ${type}`);
    }
    await createTables(runner, TABLES);
  }

  async down(runner: QueryRunner): Promise<void> {
    await dropTables(runner, TABLES);
    for (const [table, column] of [...ADDED].reverse()) {
      await runner.query(`ALTER TABLE "${table}" DROP COLUMN "${column}"`);
    }
  }
}
