import { Type } from 'class-transformer';
import {
  ArrayMaxSize,
  ArrayUnique,
  IsArray,
  IsIn,
  IsInt,
  IsOptional,
  IsString,
  IsUUID,
  Matches,
  Max,
  MaxLength,
  Min,
  ValidateNested,
} from 'class-validator';
import { ZONES, type Zone } from '../engine/zones.js';
import { FormulaInput, IsLengthMm } from './formula.input.js';
import { MEASURING_TOOLS, type MeasuringTool } from './terms.js';

export class MeasurementInput {
  @IsIn(ZONES, { message: `zone must be one of ${ZONES.join(', ')}.` })
  zone: Zone;

  @IsLengthMm()
  lengthMm: number;

  @IsIn(MEASURING_TOOLS, { message: `tool must be one of ${MEASURING_TOOLS.join(', ')}.` })
  tool: MeasuringTool = 'hand';
}

export const HOLD_STATES = ['still-holding', 'just-gone', 'long-gone'] as const;

/** What the stylist saw of a zone on arrival. */
export class HoldMarkInput {
  @IsIn(ZONES, { message: `zone must be one of ${ZONES.join(', ')}.` })
  zone: Zone;

  @IsIn(HOLD_STATES, { message: `state must be one of ${HOLD_STATES.join(', ')}.` })
  state: (typeof HOLD_STATES)[number];
}

/** What is recorded when a visit is closed. */
export class VisitInput {
  @IsUUID('all', { message: 'clientId must name a client.' })
  clientId: string;

  @IsUUID('all', { message: 'staffId must name a stylist.' })
  staffId: string;

  @IsUUID('all', { message: 'serviceId must name a service.' })
  serviceId: string;

  @IsOptional()
  @IsUUID('all', { message: 'appointmentId must name an appointment.' })
  appointmentId?: string;

  /** Today when not said. */
  @IsOptional()
  @Matches(/^\d{4}-\d{2}-\d{2}$/, { message: 'visitOn must be a date such as 2026-05-14.' })
  visitOn?: string;

  /** The service's price when not said. */
  @IsOptional()
  @IsInt({ message: 'priceMinor must be a whole number of the smallest coin, from 0 to 10,000,000.' })
  @Min(0, { message: 'priceMinor must be a whole number of the smallest coin, from 0 to 10,000,000.' })
  @Max(10_000_000, {
    message: 'priceMinor must be a whole number of the smallest coin, from 0 to 10,000,000.',
  })
  priceMinor?: number;

  @IsOptional()
  @IsString({ message: 'notes must be words.' })
  @MaxLength(4000, { message: 'notes can have at most 4,000 characters.' })
  notes?: string;

  @IsOptional()
  @IsString({ message: 'productLine must be the name of a product line.' })
  @MaxLength(120, { message: 'productLine can have at most 120 characters.' })
  productLine?: string;

  @IsOptional()
  @IsArray({ message: 'measurements must be a list.' })
  @ArrayMaxSize(ZONES.length, { message: `measurements can have at most ${ZONES.length} entries.` })
  @ArrayUnique((measurement: MeasurementInput) => measurement?.zone, {
    message: 'measurements names a zone twice.',
  })
  @ValidateNested({ each: true })
  @Type(() => MeasurementInput)
  measurements?: MeasurementInput[];

  /** How the shape had held; each moves the client's own limits. */
  @IsOptional()
  @IsArray({ message: 'marks must be a list.' })
  @ArrayMaxSize(ZONES.length, { message: `marks can have at most ${ZONES.length} entries.` })
  @ArrayUnique((mark: HoldMarkInput) => mark?.zone, { message: 'marks names a zone twice.' })
  @ValidateNested({ each: true })
  @Type(() => HoldMarkInput)
  marks?: HoldMarkInput[];

  /** Absent when nothing was cut. */
  @IsOptional()
  @ValidateNested()
  @Type(() => FormulaInput)
  formula?: FormulaInput;

  @IsOptional()
  @IsUUID('all', { message: 'basedOnId must name a cut formula.' })
  basedOnId?: string;
}
