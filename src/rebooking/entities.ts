import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { CutFormula } from '../cuts/index.js';
import type { Zone } from '../engine/zones.js';
import { Account } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import { DateColumn, InstantColumn, RefColumn, Row, TextColumn, WordsColumn } from '../store/index.js';

/** The rebooking window of a client's present shape; rewritten whenever a cut, measurement or limit changes. */
@Entity('shape_window')
@Index(['salonId', 'dueOn'])
export class ShapeWindow extends Row {
  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index({ unique: true })
  @RefColumn()
  clientId: string;

  @ForeignKey(() => CutFormula, { onDelete: 'CASCADE' })
  @RefColumn()
  formulaId: string;

  @DateColumn()
  earliestOn: string;

  @DateColumn()
  dueOn: string;

  @DateColumn()
  latestOn: string;

  /** Zone most likely to fail first. */
  @TextColumn(10)
  firstZone: Zone;

  /** Why, in words for the client's card and the desk. */
  @WordsColumn()
  reason: string;

  /** What the window was computed from, as the engine packs it, in base64: for sums over the whole book. */
  @WordsColumn()
  packed: string;

  /** Day of the cut that the window and its packed form count from. */
  @DateColumn()
  cutOn: string;

  @InstantColumn()
  computedAt: number;
}

export const NOT_NOW_REASONS = [
  'will-ring',
  'no-diary',
  'away',
  'price',
  'growing-out',
  'not-happy',
  'other',
] as const;
export type NotNowReason = (typeof NOT_NOW_REASONS)[number];

/** Why a client left without her next appointment. The newest one since her cut counts. */
@Entity('not_now')
@Index(['clientId', 'saidAt'])
export class NotNow extends Row {
  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  @TextColumn(20)
  reason: NotNowReason;

  @WordsColumn({ default: '' })
  words: string;

  /** Leave her alone until then. */
  @DateColumn({ nullable: true })
  askAgainOn: string | null;

  @InstantColumn()
  saidAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  recordedById: string | null;
}
