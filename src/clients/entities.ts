import { Entity, ForeignKey, Index } from 'typeorm';
import type { StatedByClient } from '../engine/growth/index.js';
import { Account } from '../identity/index.js';
import { Salon, Staff } from '../salon/index.js';
import {
  DateColumn,
  EditableRow,
  FlagColumn,
  InstantColumn,
  JsonColumn,
  MmColumn,
  RefColumn,
  Row,
  SealedColumn,
  TextColumn,
  WordsColumn,
} from '../store/index.js';

export const CHANNELS = ['mail', 'text'] as const;
export type Channel = (typeof CHANNELS)[number];

export const PURPOSES = ['appointment', 'rebooking'] as const;
export type Purpose = (typeof PURPOSES)[number];

export const TEXTURES = ['straight', 'wavy', 'curly', 'coily'] as const;

/** Ancestry and age are the growth prior's own keys; texture is kept for the card. */
export type StatedHair = StatedByClient & { readonly texture?: (typeof TEXTURES)[number] };

@Entity('client')
@Index(['salonId', 'searchText'])
@Index('client_birthday', ['salonId', 'birthday'])
export class Client extends EditableRow {
  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @TextColumn(80)
  givenName: string;

  @TextColumn(80)
  familyName: string;

  /** What to call her in the chair and in messages, when it is not the given name. */
  @TextColumn(80, { nullable: true })
  knownAs: string | null;

  /** BCP 47 language she is written to in; null: the salon's. */
  @TextColumn(35, { nullable: true })
  language: string | null;

  /** Folded names and the digits of the phone number. */
  @TextColumn(300)
  searchText: string;

  /** E.164. */
  @Index()
  @TextColumn(20, { nullable: true })
  phone: string | null;

  @Index()
  @TextColumn(254, { nullable: true })
  email: string | null;

  @DateColumn({ nullable: true })
  birthday: string | null;

  @ForeignKey(() => Staff, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  preferredStaffId: string | null;

  @WordsColumn({ default: '' })
  notes: string;

  /**
   * Allergies and other things that can hurt; shown first, to those with the right to see it.
   * Left out of every load that does not ask for it by name: read it through `Clients.healthNotes`.
   */
  @SealedColumn('client.healthNotes', { default: '', select: false })
  healthNotes: string;

  @MmColumn({ nullable: true })
  headCircumferenceMm: number | null;

  @TextColumn(6, { nullable: true })
  whorlSide: 'left' | 'right' | 'middle' | null;

  @TextColumn(6, { nullable: true })
  partingSide: 'left' | 'right' | 'middle' | 'none' | null;

  /** What the client states of herself and growth priors may use; never guessed. */
  @JsonColumn({ nullable: true })
  statedHair: StatedHair | null;

  @InstantColumn()
  addedAt: number;

  /** When everything personal was taken out of this row and those that hang on it; what counts stayed. */
  @InstantColumn({ nullable: true })
  erasedAt?: number | null;
}

/** A yes or no to messages, by channel and purpose; the newest row counts, none is ever changed. */
@Entity('consent')
@Index(['clientId', 'channel', 'purpose', 'at'])
export class Consent extends Row {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  @TextColumn(10)
  channel: Channel;

  @TextColumn(20)
  purpose: Purpose;

  @FlagColumn()
  given: boolean;

  @InstantColumn()
  at: number;

  /** Where the answer came from: 'desk', 'link', 'import'. */
  @TextColumn(20)
  source: string;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  recordedById: string | null;
}
