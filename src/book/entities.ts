import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Account } from '../identity/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import {
  EditableRow,
  InstantColumn,
  IntColumn,
  RefColumn,
  Row,
  TextColumn,
  WordsColumn,
} from '../store/index.js';

export const APPOINTMENT_STATES = ['booked', 'arrived', 'done', 'no-show', 'cancelled'] as const;
export type AppointmentState = (typeof APPOINTMENT_STATES)[number];

@Entity('appointment')
@Index(['salonId', 'startsAt'])
@Index(['clientId', 'startsAt'])
export class Appointment extends EditableRow {
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

  /** One past the last moment. */
  @InstantColumn()
  endsAt: number;

  @TextColumn(10)
  state: AppointmentState;

  @InstantColumn()
  bookedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  bookedById: string | null;

  /** Counts moves; part of what makes a reminder new. */
  @IntColumn({ default: 0 })
  moves: number;

  @InstantColumn({ nullable: true })
  cancelledAt: number | null;

  @WordsColumn({ default: '' })
  notes: string;
}

/** Time of a stylist that an appointment holds. Two claims on one stylist never overlap. */
@Entity('claim')
@Index(['staffId', 'startsAt'])
export class Claim extends Row {
  @ForeignKey(() => Appointment, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  appointmentId: string;

  @ForeignKey(() => Staff)
  @RefColumn()
  staffId: string;

  @InstantColumn()
  startsAt: number;

  @InstantColumn()
  endsAt: number;
}
