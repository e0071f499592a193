import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Visit } from '../cuts/index.js';
import type { Zone } from '../engine/zones.js';
import { Account } from '../identity/index.js';
import {
  DateColumn,
  EditableRow,
  InstantColumn,
  IntColumn,
  JsonColumn,
  MmColumn,
  RefColumn,
  Row,
  TextColumn,
  WordsColumn,
} from '../store/index.js';

/** Which part of the hair a colour goes on. */
export const COLOUR_PLACES = ['roots', 'lengths', 'roots-and-lengths'] as const;
export type ColourPlace = (typeof COLOUR_PLACES)[number];

/** One mixture as it was put on at a colour visit that passed the gate. Never changed afterwards. */
@Entity('colour_formula')
@Index(['clientId', 'colouredOn'])
export class ColourFormula extends Row {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Visit, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  visitId: string;

  @DateColumn()
  colouredOn: string;

  @TextColumn(120)
  name: string;

  @JsonColumn()
  zones: Zone[];

  @TextColumn(18)
  place: ColourPlace;

  /** Hydrogen peroxide in the developer, percent; null where none is mixed in. */
  @MmColumn({ nullable: true })
  developerPercent: number | null;

  /** Parts of developer to the parts of the lines. */
  @MmColumn({ nullable: true })
  developerParts: number | null;

  @IntColumn()
  minutes: number;

  @WordsColumn({ default: '' })
  notes: string;

  @InstantColumn()
  recordedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  recordedById: string | null;
}

/** One tube in the bowl. */
@Entity('colour_line')
@Index(['formulaId', 'position'], { unique: true })
export class ColourLine extends Row {
  @ForeignKey(() => ColourFormula, { onDelete: 'CASCADE' })
  @RefColumn()
  formulaId: string;

  @IntColumn()
  position: number;

  /** The very line that the skin test was of. */
  @TextColumn(120)
  productLine: string;

  @TextColumn(60)
  shade: string;

  @MmColumn()
  parts: number;
}

/** How wide an undyed band this client bears, and where it is looked at. */
@Entity('root_band_tolerance')
export class RootBandTolerance extends EditableRow {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index({ unique: true })
  @RefColumn()
  clientId: string;

  @MmColumn()
  toleranceMm: number;

  @TextColumn(10)
  zone: Zone;
}
