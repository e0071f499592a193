import { Entity, ForeignKey, Index } from 'typeorm';
import type { Zone } from '../engine/zones.js';
import { Account } from '../identity/index.js';
import {
  DateColumn,
  EditableRow,
  FlagColumn,
  IntColumn,
  JsonColumn,
  MmColumn,
  RefColumn,
  Row,
  TextColumn,
  TimeColumn,
  WordsColumn,
} from '../store/index.js';

export const UNITS = ['cm', 'in', 'mm'] as const;
export type Units = (typeof UNITS)[number];

export const SERVICE_KINDS = ['full-cut', 'tidy', 'colour', 'other'] as const;
export type ServiceKind = (typeof SERVICE_KINDS)[number];

@Entity('salon')
export class Salon extends EditableRow {
  @TextColumn(120)
  name: string;

  /** IANA time zone, such as Europe/London. */
  @TextColumn(64)
  zone: string;

  /** What lengths are shown and typed in; the store holds millimetres. */
  @TextColumn(2)
  units: Units;

  /** ISO 4217. */
  @TextColumn(3)
  currency: string;

  /** BCP 47 language of dates and messages. */
  @TextColumn(35)
  locale: string;

  /** ISO 3166 country whose phone numbers need no prefix. */
  @TextColumn(2)
  phoneRegion: string;

  @TextColumn(254)
  email: string;

  @TextColumn(20)
  phone: string;

  @WordsColumn()
  address: string;

  /** Hours before an appointment at which its reminder is due. */
  @IntColumn({ default: 48 })
  reminderHours: number;

  /** Days for which a clear skin test counts, unless the maker's rule is stricter. */
  @IntColumn({ default: 180 })
  skinTestValidDays: number;

  /** Hours before the start up to which clients may move or cancel by themselves; null: USUAL_NOTICE_HOURS. */
  @IntColumn({ nullable: true })
  cancelNoticeHours?: number | null;
}

/** Notice for moving and cancelling where the salon has not set its own, in hours: a day, as is usual. */
export const USUAL_NOTICE_HOURS = 24;

/** When the salon's door is open. */
@Entity('opening_hours')
export class OpeningHours extends Row {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  salonId: string;

  /** ISO: 1 Monday to 7 Sunday. */
  @IntColumn()
  weekday: number;

  @TimeColumn()
  opensAt: string;

  @TimeColumn()
  closesAt: string;
}

@Entity('staff')
export class Staff extends EditableRow {
  @ForeignKey(() => Salon)
  @Index()
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @Index({ unique: true })
  @RefColumn({ nullable: true })
  accountId: string | null;

  @TextColumn(120)
  name: string;

  /** Cuts hair and has a column in the day book. */
  @FlagColumn({ default: true })
  cutsHair: boolean;

  /** Breadth of this stylist's own finger, the hand's ruler. */
  @MmColumn({ default: 18 })
  fingerWidthMm: number;

  @FlagColumn({ default: true })
  active: boolean;

  /** What she can do beyond cutting, in the salon's own words; services may ask for it. */
  @JsonColumn({ nullable: true })
  skills?: string[] | null;
}

/** A stretch of a weekday on which a stylist works, in the salon's local time. */
@Entity('rota_entry')
export class RotaEntry extends Row {
  @ForeignKey(() => Staff, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  staffId: string;

  @IntColumn()
  weekday: number;

  @TimeColumn()
  startsAt: string;

  @TimeColumn()
  endsAt: string;
}

/**
 * What a stylist works on one date instead of her week: one row a stretch, or a single row without times for a day off.
 */
@Entity('rota_change')
@Index(['staffId', 'onDate'])
export class RotaChange extends Row {
  @ForeignKey(() => Staff, { onDelete: 'CASCADE' })
  @RefColumn()
  staffId: string;

  @DateColumn()
  onDate: string;

  @TimeColumn({ nullable: true })
  startsAt: string | null;

  @TimeColumn({ nullable: true })
  endsAt: string | null;
}

/** Days without work: of one stylist, or of the whole salon when no stylist is named. */
@Entity('closure')
export class Closure extends Row {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Staff, { onDelete: 'CASCADE' })
  @RefColumn({ nullable: true })
  staffId: string | null;

  @DateColumn()
  startsOn: string;

  /** Last day, included. */
  @DateColumn()
  endsOn: string;

  @TextColumn(120)
  reason: string;
}

export const RESOURCE_KINDS = ['chair', 'wash-basin', 'room'] as const;
export type ResourceKind = (typeof RESOURCE_KINDS)[number];

/** A chair, basin or room of the salon. There are as many of a kind as there are rows. */
@Entity('resource')
export class Resource extends EditableRow {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  salonId: string;

  @TextColumn(20)
  kind: ResourceKind;

  @TextColumn(80)
  name: string;

  @FlagColumn({ default: true })
  active: boolean;
}

export const STEP_ACTIVITIES = ['active', 'processing'] as const;

/** A part of a service: the stylist's hands at work, or time that passes by itself and leaves her free. */
export type ServiceStep = {
  readonly activity: (typeof STEP_ACTIVITIES)[number];
  readonly minutes: number;
  /** Needed during this step alone, one of each kind. */
  readonly resources?: readonly ResourceKind[];
};

@Entity('service')
export class Service extends EditableRow {
  @ForeignKey(() => Salon)
  @Index()
  @RefColumn()
  salonId: string;

  @TextColumn(120)
  name: string;

  @TextColumn(10)
  kind: ServiceKind;

  /** Zones a tidy cuts; empty for the other kinds. */
  @JsonColumn()
  zones: Zone[];

  @IntColumn()
  minutes: number;

  /** In the currency's minor unit. */
  @IntColumn()
  priceMinor: number;

  @FlagColumn({ default: true })
  active: boolean;

  /** In order, adding up to `minutes`; null: the stylist is at work all through. */
  @JsonColumn({ nullable: true })
  steps?: ServiceStep[] | null;

  /** Needed from start to end, one of each kind. */
  @JsonColumn({ nullable: true })
  resources?: ResourceKind[] | null;

  /** Skills of `Staff.skills` without which nobody may do it. */
  @JsonColumn({ nullable: true })
  skills?: string[] | null;
}
