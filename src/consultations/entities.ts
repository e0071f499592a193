import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { CutFormula, Visit } from '../cuts/index.js';
import { Account } from '../identity/index.js';
import { Salon, Staff } from '../salon/index.js';
import {
  DateColumn,
  InstantColumn,
  IntColumn,
  JsonColumn,
  RefColumn,
  Row,
  SealedColumn,
  TextColumn,
  WordsColumn,
} from '../store/index.js';
import type { ConsentMatter, ConsentWay, Density, GrowthPattern, HairTexture, Wave } from './terms.js';

/** What the client agreed to or declined, on a date. */
export type ConsentGiven = {
  readonly to: ConsentMatter;
  readonly given: boolean;
  /** 'YYYY-MM-DD'. */
  readonly on: string;
  readonly how: ConsentWay;
};

/** What was talked over before a service. Never changed afterwards: a newer one follows it. */
@Entity('consultation')
@Index(['clientId', 'heldOn'])
export class Consultation extends Row {
  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Staff)
  @RefColumn()
  staffId: string;

  /** The visit it was held at; null before the visit is closed, or without one. */
  @ForeignKey(() => Visit, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  visitId: string | null;

  @DateColumn()
  heldOn: string;

  /** The shape in words; empty where a house formula says it all. */
  @WordsColumn({ default: '' })
  wantedShape: string;

  @ForeignKey(() => CutFormula, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  wantedFormulaId: string | null;

  @WordsColumn({ default: '' })
  why: string;

  /** What the client accepts to spend on her hair each day. */
  @IntColumn({ nullable: true })
  dailyEffortMinutes: number | null;

  @WordsColumn({ default: '' })
  dailyEffort: string;

  @TextColumn(8, { nullable: true })
  density: Density | null;

  @TextColumn(8, { nullable: true })
  texture: HairTexture | null;

  @TextColumn(8, { nullable: true })
  wave: Wave | null;

  @JsonColumn()
  growthPatterns: GrowthPattern[];

  @WordsColumn({ default: '' })
  hairNotes: string;

  @JsonColumn()
  consents: ConsentGiven[];

  @WordsColumn({ default: '' })
  notes: string;

  @InstantColumn()
  recordedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  recordedById: string | null;
}

/**
 * The part of a consultation that tells of health, in a table of its own so that no load brings it along: read it
 * through `Consultations.health`, which checks and audits the look.
 */
@Entity('consultation_health')
export class ConsultationHealth extends Row {
  @ForeignKey(() => Consultation, { onDelete: 'CASCADE' })
  @Index({ unique: true })
  @RefColumn()
  consultationId: string;

  /** HealthFacts as JSON. */
  @SealedColumn('consultation_health.facts')
  facts: string;
}
