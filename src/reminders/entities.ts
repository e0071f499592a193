import { Entity, ForeignKey, Index } from 'typeorm';
import { Appointment } from '../book/index.js';
import { type Channel, Client } from '../clients/index.js';
import { Salon } from '../salon/index.js';
import { InstantColumn, IntColumn, RefColumn, Row, TextColumn, WordsColumn } from '../store/index.js';

export const MESSAGE_STATES = ['owed', 'sent', 'failed', 'withdrawn'] as const;
export type MessageState = (typeof MESSAGE_STATES)[number];

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
  kind: string;

  @TextColumn(10)
  channel: Channel;

  @TextColumn(254)
  address: string;

  @InstantColumn()
  owedSince: number;

  @InstantColumn()
  dueAt: number;

  @TextColumn(10)
  state: MessageState;

  @IntColumn({ default: 0 })
  attempts: number;

  /** Until then one dispatcher has it in hand; afterwards any may take it up again. */
  @InstantColumn({ nullable: true })
  leasedUntil: number | null;

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
