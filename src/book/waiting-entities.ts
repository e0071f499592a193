import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import {
  DateColumn,
  EditableRow,
  InstantColumn,
  JsonColumn,
  RefColumn,
  TextColumn,
  TimeColumn,
  WordsColumn,
} from '../store/index.js';
import { Appointment } from './entities.js';

export type WaitingState = 'waiting' | 'booked' | 'removed';

/** A client who would come sooner, or at a time that was taken: for what, with whom and when it suits her. */
@Entity('waiting_entry')
@Index(['salonId', 'state'])
export class WaitingEntry extends EditableRow {
  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Service)
  @RefColumn()
  serviceId: string;

  /** Only with this stylist; null: anybody. */
  @ForeignKey(() => Staff, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  staffId: string | null;

  @DateColumn()
  fromDate: string;

  /** Last day, included. */
  @DateColumn()
  toDate: string;

  /** ISO weekdays that suit, 1 Monday to 7 Sunday; null: all. */
  @JsonColumn({ nullable: true })
  weekdays: number[] | null;

  /** Not before this time of the day. */
  @TimeColumn({ nullable: true })
  timeFrom: string | null;

  /** Done by this time of the day. */
  @TimeColumn({ nullable: true })
  timeTo: string | null;

  @WordsColumn({ default: '' })
  notes: string;

  @TextColumn(10)
  state: WaitingState;

  @InstantColumn()
  addedAt: number;

  /** What she got in the end. */
  @ForeignKey(() => Appointment, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  appointmentId: string | null;
}

/** 'gone' is one that somebody else took, or that was booked otherwise. */
export type OfferState = 'open' | 'accepted' | 'gone' | 'declined' | 'withdrawn';

/** A free time offered to one client who waits. Offers of one group are for the same time: the first to accept has it. */
@Entity('waiting_offer')
export class WaitingOffer extends EditableRow {
  @Index()
  @RefColumn()
  groupId: string;

  @ForeignKey(() => WaitingEntry, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  entryId: string;

  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Staff)
  @RefColumn()
  staffId: string;

  @ForeignKey(() => Service)
  @RefColumn()
  serviceId: string;

  @InstantColumn()
  startsAt: number;

  @InstantColumn()
  endsAt: number;

  @TextColumn(10)
  state: OfferState;

  @InstantColumn()
  offeredAt: number;

  @InstantColumn()
  expiresAt: number;
}
