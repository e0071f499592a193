import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Salon } from '../salon/index.js';
import {
  EditableRow,
  FlagColumn,
  InstantColumn,
  IntColumn,
  JsonColumn,
  RefColumn,
  Row,
  SealedColumn,
  TextColumn,
  WordsColumn,
} from '../store/index.js';
import type { EventData, EventType, TEST_TYPE } from './event-types.js';

/** An address that is told of what happens in a salon. */
@Entity()
export class Webhook extends EditableRow {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  salonId: string;

  @TextColumn(500)
  url: string;

  @JsonColumn()
  events: EventType[];

  /** Signs what is sent; shown once. */
  @SealedColumn('webhook.secret')
  secret: string;

  /** The secret before, which signs as well until `formerUntil`, so that nobody need change both ends at once. */
  @SealedColumn('webhook.formerSecret', { default: '' })
  formerSecret: string;

  @InstantColumn({ nullable: true })
  formerUntil: number | null;

  @FlagColumn({ default: true })
  active: boolean;

  @InstantColumn()
  madeAt: number;

  /** Nothing has arrived since; null while all is well. */
  @InstantColumn({ nullable: true })
  failingSince: number | null;

  /** When it was switched off because nothing arrived any more; null where the owner switched it off or it is on. */
  @InstantColumn({ nullable: true })
  gaveUpAt: number | null;
}

export const DELIVERY_STATES = ['owed', 'sent', 'failed', 'withdrawn'] as const;
export type DeliveryState = (typeof DELIVERY_STATES)[number];

/** One event for one address. */
@Entity('webhook_delivery')
@Index(['state', 'dueAt'])
@Index(['webhookId', 'eventId'], { unique: true })
export class WebhookDelivery extends Row {
  @ForeignKey(() => Webhook, { onDelete: 'CASCADE' })
  @RefColumn()
  webhookId: string;

  /** Client it is about: what is told of her is exported and erased with the rest. */
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn({ nullable: true })
  clientId: string | null;

  /** The same for all addresses that are told. */
  @RefColumn()
  eventId: string;

  @TextColumn(40)
  type: EventType | typeof TEST_TYPE;

  /** What it happened to: "appointments/<id>". */
  @TextColumn(80)
  subject: string;

  @JsonColumn()
  data: EventData;

  @InstantColumn()
  happenedAt: number;

  @InstantColumn()
  dueAt: number;

  @TextColumn(12)
  state: DeliveryState;

  @IntColumn({ default: 0 })
  attempts: number;

  @InstantColumn({ nullable: true })
  notBefore: number | null;

  @RefColumn({ nullable: true })
  leaseId: string | null;

  @InstantColumn({ nullable: true })
  sentAt: number | null;

  /** HTTP status of the last answer. */
  @IntColumn({ nullable: true })
  lastStatus: number | null;

  @WordsColumn({ nullable: true })
  lastError: string | null;
}
