import { Entity, ForeignKey, Index } from 'typeorm';
import { Appointment } from '../book/index.js';
import { type Channel, Client } from '../clients/index.js';
import { Account } from '../identity/index.js';
import { Salon } from '../salon/index.js';
import {
  EditableRow,
  InstantColumn,
  IntColumn,
  JsonColumn,
  RefColumn,
  Row,
  TextColumn,
  TimeColumn,
  WordsColumn,
} from '../store/index.js';

/**
 * 'unreachable' is neither owed nor failed: there was something to tell and nowhere to send it (or the client
 * wants no messages). It turns into 'owed' by itself once there is an address, while the appointment is ahead.
 */
export const MESSAGE_STATES = ['owed', 'sent', 'failed', 'withdrawn', 'unreachable'] as const;
export type MessageState = (typeof MESSAGE_STATES)[number];

export const MESSAGE_KINDS = [
  'appointment-confirmation',
  'appointment-reminder',
  'appointment-change',
  'appointment-cancellation',
  'skin-test-needed',
  'skin-test-reading',
  'shape-due',
  'no-show',
  'waiting-offer',
  'waiting-gone',
] as const;
export type MessageKind = (typeof MESSAGE_KINDS)[number];

/**
 * Why a message is unreachable, withdrawn or can no longer be sent: 'over' needs no words any more, 'booked' has
 * an appointment by now, 'enough' was written to often enough lately, 'stopped' was held by somebody at the desk,
 * 'left-out' belongs to those whom the owner leaves without nudges, 'undelivered' is what the text gateway reported after taking it.
 */
export type MessageReason =
  | 'no-address'
  | 'refused'
  | 'moved'
  | 'cancelled'
  | 'over'
  | 'too-late'
  | 'booked'
  | 'enough'
  | 'stopped'
  | 'left-out'
  | 'undelivered';

/** What a client is owed, written in the transaction that causes it. The database is the truth, no queue is. */
@Entity('message')
@Index(['state', 'dueAt'])
@Index(['runId', 'state'])
@Index('message_of_client', ['clientId', 'kind', 'state', 'sentAt'])
@Index('message_of_appointment', ['appointmentId', 'kind', 'state', 'sentAt'])
export class Message extends Row {
  /** Says what is owed, so that it is owed once: "reminder:<appointment>:<move>:<hours>". */
  @Index({ unique: true })
  @TextColumn(160)
  dedupeKey: string;

  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Appointment, { onDelete: 'CASCADE' })
  @RefColumn({ nullable: true })
  appointmentId: string | null;

  /** Skin test, cut formula or offer it is about; its appointment has a column of its own. */
  @RefColumn({ nullable: true })
  aboutId: string | null;

  /** Run that owed it together with others. */
  @RefColumn({ nullable: true })
  runId: string | null;

  /** Template folder under templates/messages. */
  @TextColumn(40)
  kind: MessageKind;

  @TextColumn(10)
  channel: Channel;

  /** Where it goes, looked up again when it is sent; null while there is no address. */
  @TextColumn(254, { nullable: true })
  address: string | null;

  @InstantColumn()
  owedSince: number;

  @InstantColumn()
  dueAt: number;

  @TextColumn(12)
  state: MessageState;

  @TextColumn(12, { nullable: true })
  reason: MessageReason | null;

  /** Counted when a dispatcher takes it up, so that one that dies in the attempt is counted too. */
  @IntColumn({ default: 0 })
  attempts: number;

  /** Nobody takes it up before then: a dispatcher has it in hand (`leaseId`), or it waits for its next attempt. */
  @InstantColumn({ nullable: true })
  notBefore: number | null;

  @RefColumn({ nullable: true })
  leaseId: string | null;

  @InstantColumn({ nullable: true })
  sentAt: number | null;

  /** Where it went: 'smtp', 'gateway' or 'outbox'. */
  @TextColumn(10, { nullable: true })
  sentBy: string | null;

  @WordsColumn({ nullable: true })
  lastError: string | null;

  @TextColumn(200, { nullable: true })
  subject: string | null;

  @WordsColumn({ nullable: true })
  body: string | null;

  /** Language it was written in. */
  @TextColumn(10, { nullable: true })
  language: string | null;

  /** What it was made from: 'file:<hash>' or 'salon:<number>'. */
  @TextColumn(40, { nullable: true })
  template: string | null;

  /** Segments a text was charged as; null for mail. */
  @IntColumn({ nullable: true })
  segments: number | null;

  /** How often the desk had it tried anew; a gateway that knows the first try must take the next for another. */
  @IntColumn({ default: 0 })
  round: number;
}

/** How a salon wants its messages; a salon without a row has the defaults and its one `Salon.reminderHours`. */
@Entity('message_rules')
export class MessageRules extends EditableRow {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @Index({ unique: true })
  @RefColumn()
  salonId: string;

  /** Hours before the start at which reminders are due; empty for none. */
  @JsonColumn()
  reminderHours: number[];

  /** From this time of day until the next nobody is disturbed, in the salon's zone. */
  @TimeColumn({ default: '20:00' })
  quietFrom: string;

  @TimeColumn({ default: '09:00' })
  quietUntil: string;

  /** At most so many nudges to one client within `nudgeWeeks` weeks; 0 for none. */
  @IntColumn({ default: 2 })
  nudgeMost: number;

  @IntColumn({ default: 8 })
  nudgeWeeks: number;
}

/** A salon's own words for a kind of message. Never changed: the row with the highest number counts. */
@Entity('message_template')
@Index(['salonId', 'kind', 'channel', 'language', 'number'], { unique: true })
export class SalonTemplate extends Row {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @RefColumn()
  salonId: string;

  @TextColumn(40)
  kind: MessageKind;

  @TextColumn(10)
  channel: Channel;

  @TextColumn(10)
  language: string;

  /** Counts from 1. */
  @IntColumn()
  number: number;

  /** Null for texts, which have none. */
  @TextColumn(300, { nullable: true })
  subject: string | null;

  /** Null: back to the words that come with the program. */
  @WordsColumn({ nullable: true })
  body: string | null;

  @InstantColumn()
  savedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  savedById: string | null;
}

/** Messages to many that somebody set going. */
@Entity('message_run')
export class MessageRun extends Row {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  salonId: string;

  @TextColumn(40)
  kind: MessageKind;

  @InstantColumn()
  startedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  startedById: string | null;

  @InstantColumn({ nullable: true })
  stoppedAt: number | null;
}
