import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Account } from '../identity/index.js';
import { Staff } from '../salon/index.js';
import {
  DateColumn,
  EditableRow,
  InstantColumn,
  IntColumn,
  RefColumn,
  Row,
  SealedColumn,
  TextColumn,
} from '../store/index.js';

/** An allergy alert (patch) test of one product line on one client. */
@Entity('skin_test')
@Index(['clientId', 'appliedAt'])
@Index('skin_test_applied', ['appliedAt'])
export class SkinTest extends EditableRow {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  /** The very line that is to be used; a test of one says nothing about another. */
  @TextColumn(120)
  productLine: string;

  /** Where on the skin, by the maker's instructions. */
  @TextColumn(80)
  place: string;

  @InstantColumn()
  appliedAt: number;

  @ForeignKey(() => Staff, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  appliedById: string | null;

  /** When the skin was looked at. */
  @InstantColumn({ nullable: true })
  readAt: number | null;

  /** When the newest reading came onto the record: a medical clearance written before it does not cover it. */
  @InstantColumn({ nullable: true })
  readingRecordedAt: number | null;

  @TextColumn(10, { nullable: true })
  result: 'clear' | 'reacted' | null;

  /** What was seen and when, in the words of whoever read it. */
  @SealedColumn('skin_test.seen', { default: '' })
  seen: string;

  /** The maker's own validity in days, where it is stricter than the salon's. */
  @IntColumn({ nullable: true })
  makerValidDays: number | null;

  /** When it came in from other records: nobody here applied or read it. Null for our own tests. */
  @InstantColumn({ nullable: true })
  takenOverAt?: number | null;
}

export const SAFETY_NOTE_KINDS = ['colour-reaction', 'black-henna-reaction', 'irritated-scalp'] as const;
export type SafetyNoteKind = (typeof SAFETY_NOTE_KINDS)[number];

/** Something outside our own skin tests that bars colour: an earlier reaction, or a scalp that is not well now. */
@Entity('safety_note')
export class SafetyNote extends Row {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  clientId: string;

  @TextColumn(24)
  kind: SafetyNoteKind;

  /** What happened and when, as told or seen. */
  @SealedColumn('safety_note.told')
  told: string;

  @InstantColumn()
  notedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  notedById: string | null;

  /** When an irritated scalp was seen to have settled; the other kinds never end, they are cleared medically. */
  @InstantColumn({ nullable: true })
  endedAt: number | null;
}

/** A doctor's written word that colour may be tried again after a reaction. Only an owner records one. */
@Entity('medical_clearance')
export class MedicalClearance extends Row {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  clientId: string;

  /** Date on the document. */
  @DateColumn()
  documentedOn: string;

  @TextColumn(160)
  issuedBy: string;

  /** What the document says, with its limits. */
  @SealedColumn('medical_clearance.says')
  says: string;

  @InstantColumn()
  recordedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  recordedById: string | null;
}
