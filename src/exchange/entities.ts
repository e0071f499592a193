import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Account } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import {
  InstantColumn,
  IntColumn,
  JsonColumn,
  RefColumn,
  Row,
  TextColumn,
  WordsColumn,
} from '../store/index.js';
import type { Delimiter } from './csv-records.js';
import type { Encoding } from './decode.js';
import type { ImportFormat, ImportKind } from './kinds.js';
import type { ImportSettings } from './settings.js';
import type { Survey } from './survey.js';

export const RUN_STATES = [
  'uploaded',
  'checking',
  'checked',
  'running',
  'done',
  'stopped',
  'failed',
] as const;
export type RunState = (typeof RUN_STATES)[number];

/** `check` says what would happen and changes nothing; `run` does it. */
export type Pass = 'check' | 'run';

export const OUTCOMES = ['new', 'changed', 'same', 'skipped', 'refused'] as const;
export type Outcome = (typeof OUTCOMES)[number];

/** What became of one row: row, outcome, words, column, whose record, who the row says it is. */
export type ReportLine = readonly [
  row: number,
  outcome: Outcome,
  words: string,
  column: string,
  clientId: string | null,
  who: string,
];

/** A file that was handed in, how it is to be read, and how far it is. */
@Entity('import_run')
export class ImportRun extends Row {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  salonId: string;

  @TextColumn(16)
  kind: ImportKind;

  @TextColumn(10)
  format: ImportFormat;

  @TextColumn(200)
  fileName: string;

  /** Pieces of the file, sealed, in the folder of imports; 0 once the file was let go. */
  @IntColumn()
  pieces: number;

  @InstantColumn()
  bytes: number;

  @TextColumn(12)
  encoding: Encoding;

  @TextColumn(1)
  delimiter: Delimiter;

  @JsonColumn()
  survey: Survey;

  @JsonColumn()
  settings: ImportSettings;

  @TextColumn(10)
  state: RunState;

  /** What is or was under way last. */
  @TextColumn(5, { nullable: true })
  pass: Pass | null;

  /** Rows that are settled: written in the very transaction that settles them. */
  @IntColumn({ default: 0 })
  rowsDone: number;

  @IntColumn({ default: 0 })
  newRows: number;

  @IntColumn({ default: 0 })
  changedRows: number;

  @IntColumn({ default: 0 })
  sameRows: number;

  @IntColumn({ default: 0 })
  skippedRows: number;

  @IntColumn({ default: 0 })
  refusedRows: number;

  /** Why it stopped, in words with a remedy. */
  @WordsColumn({ nullable: true })
  problem: string | null;

  /** Whoever works on it says so again with every batch; once this has passed, somebody else may go on. */
  @InstantColumn({ nullable: true })
  leasedUntil: number | null;

  @RefColumn({ nullable: true })
  leasedBy: string | null;

  @InstantColumn()
  madeAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  madeById: string | null;

  @InstantColumn({ nullable: true })
  finishedAt: number | null;
}

/** The report of one batch of rows, written with what it reports. */
@Entity('import_batch')
@Index(['runId', 'pass', 'position'], { unique: true })
export class ImportBatch extends Row {
  @ForeignKey(() => ImportRun, { onDelete: 'CASCADE' })
  @RefColumn()
  runId: string;

  @TextColumn(5)
  pass: Pass;

  /** Place of its first row among the rows of the file, from 0. */
  @IntColumn()
  position: number;

  @IntColumn()
  newRows: number;

  @IntColumn()
  changedRows: number;

  @IntColumn()
  sameRows: number;

  @IntColumn()
  skippedRows: number;

  @IntColumn()
  refusedRows: number;

  @JsonColumn()
  lines: ReportLine[];
}

/** A row that was taken over, remembered by a key of its own, so that a second run changes nothing twice. */
@Entity('imported_row')
@Index(['salonId', 'kind', 'rowKey'], { unique: true })
export class ImportedRow extends Row {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  clientId: string;

  /** What it became: a client, a visit, a cut formula, a skin test, an appointment. */
  @RefColumn()
  subjectId: string;

  @TextColumn(16)
  kind: ImportKind;

  /** SHA-256 of what names the row for good. */
  @TextColumn(43)
  rowKey: string;

  /** SHA-256 of what the row said. */
  @TextColumn(43)
  digest: string;

  /** The import that brought it; not a foreign key, for imports are cleared away and this stays. */
  @RefColumn()
  runId: string;

  @IntColumn()
  rowNumber: number;

  @InstantColumn()
  takenAt: number;
}
