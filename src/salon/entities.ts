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
}

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
}
