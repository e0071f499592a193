import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import type { GrowthProfile } from '../engine/growth/index.js';
import type { Zone } from '../engine/zones.js';
import { Account } from '../identity/index.js';
import { Salon, Service, Staff } from '../salon/index.js';
import {
  DateColumn,
  EditableRow,
  FlagColumn,
  InstantColumn,
  IntColumn,
  JsonColumn,
  MmColumn,
  RefColumn,
  Row,
  SealedColumn,
  TextColumn,
  WordsColumn,
} from '../store/index.js';
import type { StepGeometry } from './step-geometry.js';
import type {
  FormulaMethod,
  GuideKind,
  LimitKind,
  MeasuringTool,
  SectionDirection,
  Technique,
  ZoneLinkKind,
} from './terms.js';

/** How a shape was cut. Belongs to a visit, or is one of the house's own shapes when it has a name and no client. */
@Entity('cut_formula')
export class CutFormula extends EditableRow {
  @ForeignKey(() => Salon)
  @Index()
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn({ nullable: true })
  clientId: string | null;

  /** The formula this one was copied from. */
  @RefColumn({ nullable: true })
  basedOnId: string | null;

  @TextColumn(120)
  name: string;

  @WordsColumn({ default: '' })
  notes: string;

  /** Day the hair was left like this; null for a house formula or a wanted shape. */
  @DateColumn({ nullable: true })
  cutOn: string | null;
}

/** One step in cutting order: a zone, how it was held and against what. Lengths mm, angles degrees. */
@Entity('cut_step')
@Index(['formulaId', 'position'], { unique: true })
export class CutStep extends Row {
  @ForeignKey(() => CutFormula, { onDelete: 'CASCADE' })
  @RefColumn()
  formulaId: string;

  @IntColumn()
  position: number;

  @TextColumn(10)
  zone: Zone;

  @TextColumn(20)
  method: FormulaMethod;

  @TextColumn(16, { nullable: true })
  section: SectionDirection | null;

  /** From natural fall. */
  @MmColumn({ nullable: true })
  elevationDeg: number | null;

  @TextColumn(10, { nullable: true })
  guide: GuideKind | null;

  /** Words naming where a stationary guide stands, for the one who reads them. */
  @TextColumn(80, { nullable: true })
  guideAt: string | null;

  /** The same for the engine, with what else it needs to know where the cutting line runs. */
  @JsonColumn({ nullable: true })
  geometry: StepGeometry | null;

  @TextColumn(10, { nullable: true })
  overDirectedTo: Zone | null;

  @IntColumn({ default: 0 })
  overDirectedSections: number;

  /** Tilt of the cutting line against the section. */
  @MmColumn({ default: 0 })
  fingerAngleDeg: number;

  @MmColumn({ nullable: true })
  lengthAtGuideMm: number | null;

  /** Where a taper ends; null for the others. */
  @MmColumn({ nullable: true })
  endLengthMm: number | null;

  @MmColumn({ nullable: true })
  sectionDepthMm: number | null;

  @MmColumn({ default: 0 })
  stepPerSectionMm: number;

  @TextColumn(20)
  technique: Technique;

  /** Comb or clipper guard, as the stylist names it. */
  @TextColumn(60, { nullable: true })
  tool: string | null;

  @FlagColumn({ default: false })
  leftToGrow: boolean;

  @WordsColumn({ default: '' })
  notes: string;
}

/**
 * What a zone was left at, and what the shape wants of it. A zone that the visit did not touch keeps the length and
 * the day of its last cut, so that its growth is counted from there.
 */
@Entity('zone_length')
@Index(['formulaId', 'zone'], { unique: true })
export class ZoneLength extends Row {
  @ForeignKey(() => CutFormula, { onDelete: 'CASCADE' })
  @RefColumn()
  formulaId: string;

  @TextColumn(10)
  zone: Zone;

  @MmColumn()
  leftMm: number;

  /** Day it was left at that length. */
  @DateColumn()
  leftOn: string;

  /** How sure the hand is of it, one standard deviation. */
  @MmColumn()
  leftSdMm: number;

  /** The length at which the shape reads as intended; equals leftMm unless the zone was left to grow. */
  @MmColumn()
  wantedMm: number;
}

@Entity('zone_link')
export class ZoneLink extends Row {
  @ForeignKey(() => CutFormula, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  formulaId: string;

  @TextColumn(10)
  zone: Zone;

  @TextColumn(10)
  neighbour: Zone;

  @TextColumn(12)
  kind: ZoneLinkKind;
}

/** What ends a zone's hold: see the engine's HoldLimit for the meaning of each kind. */
@Entity('hold_limit')
@Index('hold_limit_figures', ['formulaId', 'zone', 'kind', 'against', 'by', 'value'])
export class HoldLimitRow extends Row {
  @ForeignKey(() => CutFormula, { onDelete: 'CASCADE' })
  @RefColumn()
  formulaId: string;

  @TextColumn(12)
  kind: LimitKind;

  @TextColumn(10)
  zone: Zone;

  @TextColumn(10, { nullable: true })
  against: Zone | null;

  @TextColumn(10, { nullable: true })
  by: 'difference' | 'ratio' | null;

  @TextColumn(20, { nullable: true })
  landmark: string | null;

  /** Millimetres, or a bare ratio for a contrast by ratio. */
  @MmColumn()
  value: number;

  /** How unsure it is, in the unit of `value`, as a stylist's marks have left it; null while none have moved it. */
  @MmColumn({ nullable: true })
  sd: number | null;
}

/** What triggers write: never by us, and read by the figures' own queries only. */
const KEPT = { insert: false, update: false, select: false } as const;

/** One time in the chair. */
@Entity('visit')
@Index('visit_figures', [
  'clientId',
  'visitOn',
  'closedAt',
  'salonId',
  'staffId',
  'serviceId',
  'dayEndsAt',
  'suggestedDueOn',
  'suggestedLatestOn',
  'nextOn',
  'firstOn',
  'shape',
])
@Index('visit_days', [
  'salonId',
  'visitOn',
  'clientId',
  'staffId',
  'serviceId',
  'nextOn',
  'firstOn',
  'suggestedDueOn',
  'suggestedLatestOn',
  'priceMinor',
  'shape',
])
export class Visit extends EditableRow {
  @ForeignKey(() => Salon)
  @RefColumn()
  salonId: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Staff)
  @Index()
  @RefColumn()
  staffId: string;

  @ForeignKey(() => Service)
  @RefColumn()
  serviceId: string;

  /** The booking it came from; null for a walk-in. Unique, so that one booking is completed once. */
  @Index({ unique: true })
  @RefColumn({ nullable: true })
  appointmentId: string | null;

  /** Formula as cut; null when nothing was cut. */
  @ForeignKey(() => CutFormula, { onDelete: 'SET NULL' })
  @Index()
  @RefColumn({ nullable: true })
  formulaId: string | null;

  @DateColumn()
  visitOn: string;

  @InstantColumn()
  closedAt: number;

  /** End of that calendar day in the salon's zone: "rebooked at checkout" reaches this far. */
  @InstantColumn()
  dayEndsAt: number;

  @IntColumn()
  priceMinor: number;

  @WordsColumn({ default: '' })
  notes: string;

  /** For which instant the colour gate let this visit's colour through; null where no gate was passed. */
  @InstantColumn({ nullable: true })
  colourAt?: number | null;

  /** The line the gate was asked about. */
  @TextColumn(120, { nullable: true })
  productLine?: string | null;

  /** The window as it was suggested at checkout, kept to be scored against what happened. */
  @DateColumn({ nullable: true })
  suggestedEarliestOn: string | null;

  @DateColumn({ nullable: true })
  suggestedDueOn: string | null;

  @DateColumn({ nullable: true })
  suggestedLatestOn: string | null;

  /** The client's next later day and her first one, with anybody; kept by the database, for the figures. */
  @DateColumn({ nullable: true, ...KEPT })
  nextOn?: string | null;

  @DateColumn({ nullable: true, ...KEPT })
  firstOn?: string | null;

  /** Name of the formula as cut; kept by the database. */
  @TextColumn(120, { nullable: true, ...KEPT })
  shape?: string | null;
}

/** A length taken on arrival, before anything is cut. */
@Entity('measurement')
@Index(['clientId', 'measuredOn'])
@Index('measurement_figures', ['measuredOn', 'clientId', 'zone', 'id', 'lengthMm'])
export class Measurement extends Row {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Visit, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn({ nullable: true })
  visitId: string | null;

  @TextColumn(10)
  zone: Zone;

  @MmColumn()
  lengthMm: number;

  @MmColumn()
  sdMm: number;

  @TextColumn(10)
  tool: MeasuringTool;

  @DateColumn()
  measuredOn: string;

  /** What the growth profile made of it, in words; null when there was no earlier length to compare with. */
  @WordsColumn({ nullable: true })
  verdict: string | null;
}

/** What is known of a client's own growth; rewritten by every measurement that teaches it. */
@Entity('growth_record')
export class GrowthRecord extends EditableRow {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index({ unique: true })
  @RefColumn()
  clientId: string;

  @JsonColumn()
  profile: GrowthProfile;
}

/** A visit that is still being recorded. May hold health words, so it is sealed at rest. */
@Entity('visit_draft')
@Index(['subject', 'setAsideFor'], { unique: true })
export class VisitDraft extends EditableRow {
  /** What is being recorded: an appointment, or a client's walk-in with a stylist. */
  @TextColumn(100)
  subject: string;

  /** Empty for the draft itself; else the account whose later save it was kept from. */
  @TextColumn(36, { default: '' })
  setAsideFor: string;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  clientId: string;

  /** JSON. */
  @SealedColumn('visit_draft.body')
  body: string;

  @InstantColumn()
  savedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  savedById: string | null;
}
