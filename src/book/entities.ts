import { Entity, Exclusion, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Account } from '../identity/index.js';
import { Resource, type ResourceKind, Salon, Service, type ServiceStep, Staff } from '../salon/index.js';
import {
  EditableRow,
  InstantColumn,
  IntColumn,
  JsonColumn,
  RefColumn,
  Row,
  TextColumn,
  WordsColumn,
} from '../store/index.js';

export const APPOINTMENT_STATES = ['booked', 'arrived', 'done', 'no-show', 'cancelled'] as const;
export type AppointmentState = (typeof APPOINTMENT_STATES)[number];

/** Appointments that were booked ahead together and are changed or dropped together. */
@Entity('booking_series')
export class BookingSeries extends EditableRow {
  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  clientId: string;

  @TextColumn(120)
  name: string;

  @InstantColumn()
  madeAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  madeById: string | null;
}

@Entity('appointment')
@Index(['salonId', 'startsAt'])
@Index('appointment_ahead', ['clientId', 'startsAt', 'bookedAt', 'cancelledAt'])
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

  /** Done after `serviceId` in the same sitting, in this order. */
  @JsonColumn({ nullable: true })
  alsoServiceIds?: string[] | null;

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

  /** The service's steps as booked, adding up to its length; null: the stylist is at work all through. */
  @JsonColumn({ nullable: true })
  steps?: ServiceStep[] | null;

  /** Kinds of resource held from start to end. */
  @JsonColumn({ nullable: true })
  resources?: ResourceKind[] | null;

  /** Series it was booked ahead with; a series goes only with its client. */
  @Index()
  @RefColumn({ nullable: true })
  seriesId?: string | null;

  /** When the client said that she will come, at the time it stands at now. */
  @InstantColumn({ nullable: true })
  confirmedAt?: number | null;

  /** When the client came to the desk, as far as it was noted; a no-show and a fresh booking have none. */
  @InstantColumn({ nullable: true })
  arrivedAt?: number | null;

  /** When she sat down in the chair. */
  @InstantColumn({ nullable: true })
  seatedAt?: number | null;
}

const heldOnce = (column: string) =>
  `USING gist ("${column}" WITH =, int8range("startsAt", "endsAt") WITH &&)`;

/**
 * Time that an appointment holds, of a stylist or of a resource: just one of the two is named. Two claims on one stylist
 * never overlap, nor two on one resource. A stylist is held for the active steps only. PostgreSQL itself sees to it; SQLite
 * knows no exclusion constraints.
 */
@Entity('claim')
@Exclusion('claim_one_client_a_stylist', heldOnce('staffId'))
@Exclusion('claim_one_client_a_resource', heldOnce('resourceId'))
@Index(['staffId', 'startsAt', 'endsAt'])
@Index(['resourceId', 'startsAt', 'endsAt'])
export class Claim extends Row {
  @ForeignKey(() => Appointment, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  appointmentId: string;

  @ForeignKey(() => Staff)
  @RefColumn({ nullable: true })
  staffId: string | null;

  @ForeignKey(() => Resource)
  @RefColumn({ nullable: true })
  resourceId?: string | null;

  @InstantColumn()
  startsAt: number;

  @InstantColumn()
  endsAt: number;
}
