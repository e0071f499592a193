import { Entity, ForeignKey, Index } from 'typeorm';
import { Appointment } from '../book/index.js';
import { type Channel, Client } from '../clients/index.js';
import { Salon } from '../salon/index.js';
import { InstantColumn, IntColumn, RefColumn, Row, TextColumn, WordsColumn } from '../store/index.js';

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
] as const;
export type MessageKind = (typeof MESSAGE_KINDS)[number];

/** Why a message is unreachable, withdrawn or can no longer be sent; 'over' is an appointment that needs no words any more. */
export type MessageReason = 'no-address' | 'refused' | 'moved' | 'cancelled' | 'over' | 'too-late';

/** What a client is owed, written in the transaction that causes it. The database is the truth, no queue is. */
@Entity('message')
@Index(['state', 'dueAt'])
export class Message extends Row {
  /** Says what is owed, so that it is owed once: "reminder:<appointment>:<move>:<hours>". */
  @Index({ unique: true })
  @TextColumn(160)
  dedupeKey: string;

  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Appointment, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn({ nullable: true })
  appointmentId: string | null;

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

  /** Where it went: 'smtp' or 'outbox'. */
  @TextColumn(10, { nullable: true })
  sentBy: string | null;

  @WordsColumn({ nullable: true })
  lastError: string | null;

  @TextColumn(200, { nullable: true })
  subject: string | null;

  @WordsColumn({ nullable: true })
  body: string | null;
}
