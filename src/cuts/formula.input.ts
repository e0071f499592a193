import { Type } from 'class-transformer';
import {
  ArrayMaxSize,
  ArrayUnique,
  IsArray,
  IsBoolean,
  IsIn,
  IsInt,
  IsNumber,
  IsOptional,
  IsString,
  Max,
  MaxLength,
  Min,
  MinLength,
  ValidateNested,
} from 'class-validator';
import { ZONES, type Zone } from '../engine/zones.js';
import { ANCHORS, CUT_TO, HOLDS, STARTS, type StepGeometry } from './step-geometry.js';
import {
  FORMULA_METHODS,
  type FormulaMethod,
  GUIDE_KINDS,
  type GuideKind,
  LIMIT_KINDS,
  type LimitKind,
  SECTION_DIRECTIONS,
  type SectionDirection,
  TECHNIQUES,
  type Technique,
  ZONE_LINK_KINDS,
  type ZoneLinkKind,
} from './terms.js';

export const LONGEST_MM = 2000;

const number = { allowNaN: false, allowInfinity: false };
const oneOf = (field: string, values: readonly string[]) => ({
  message: `${field} must be one of ${values.join(', ')}.`,
});
const lengthWords = (field: string) => ({
  message: `${field} must be a length from 0 to ${LONGEST_MM} mm.`,
});
const angleWords = (field: string, from: number, to: number) => ({
  message: `${field} must be an angle from ${from} to ${to} degrees.`,
});

/** A number from 0 to 2,000 mm; anything else is refused with the field's name. */
export function IsLengthMm(): PropertyDecorator {
  return (target, property) => {
    const words = lengthWords(String(property));
    IsNumber(number, words)(target, property);
    Min(0, words)(target, property);
    Max(LONGEST_MM, words)(target, property);
  };
}

function IsAngle(from: number, to: number): PropertyDecorator {
  return (target, property) => {
    const words = angleWords(String(property), from, to);
    IsNumber(number, words)(target, property);
    Min(from, words)(target, property);
    Max(to, words)(target, property);
  };
}

/** Where a guide stands and the cutting line runs; what is left out is taken from the zone. */
export class GeometryInput implements StepGeometry {
  /** Further zones that the guide travels through in the same pass. */
  @IsOptional()
  @IsArray({ message: 'withZones must be a list.' })
  @ArrayUnique({ message: 'withZones names a zone twice.' })
  @IsIn(ZONES, { each: true, message: `withZones can name ${ZONES.join(', ')}.` })
  withZones?: Zone[];

  @IsOptional()
  @IsIn(STARTS, oneOf('startAt', STARTS))
  startAt?: StepGeometry['startAt'];

  /** Takes the first length from this zone, which must be cut before, instead of from lengthAtGuideMm. */
  @IsOptional()
  @IsIn(ZONES, oneOf('guideZone', ZONES))
  guideZone?: Zone;

  @IsOptional()
  @IsIn(ANCHORS, oneOf('anchor', ANCHORS))
  anchor?: StepGeometry['anchor'];

  @IsOptional()
  @IsIn(HOLDS, oneOf('held', HOLDS))
  held?: StepGeometry['held'];

  @IsOptional()
  @IsIn(CUT_TO, oneOf('cutTo', CUT_TO))
  cutTo?: StepGeometry['cutTo'];

  @IsOptional()
  @IsNumber(number, { message: 'belowMm must be from -500 to 500 mm.' })
  @Min(-500, { message: 'belowMm must be from -500 to 500 mm.' })
  @Max(500, { message: 'belowMm must be from -500 to 500 mm.' })
  belowMm?: number;

  @IsOptional()
  @IsAngle(-60, 60)
  dropToFaceDeg?: number;

  @IsOptional()
  @IsNumber(number, { message: 'overMm must be from 1 to 250 mm.' })
  @Min(1, { message: 'overMm must be from 1 to 250 mm.' })
  @Max(250, { message: 'overMm must be from 1 to 250 mm.' })
  overMm?: number;
}

export class StepInput {
  @IsIn(ZONES, oneOf('zone', ZONES))
  zone: Zone;

  @IsIn(FORMULA_METHODS, oneOf('method', FORMULA_METHODS))
  method: FormulaMethod;

  @IsOptional()
  @IsIn(SECTION_DIRECTIONS, oneOf('section', SECTION_DIRECTIONS))
  section?: SectionDirection | null;

  @IsOptional()
  @IsAngle(0, 180)
  elevationDeg?: number | null;

  @IsOptional()
  @IsIn(GUIDE_KINDS, oneOf('guide', GUIDE_KINDS))
  guide?: GuideKind | null;

  @IsOptional()
  @IsString({ message: 'guideAt must be words naming where the guide stands.' })
  @MaxLength(80, { message: 'guideAt can have at most 80 characters.' })
  guideAt?: string | null;

  @IsOptional()
  @ValidateNested()
  @Type(() => GeometryInput)
  geometry?: GeometryInput | null;

  @IsOptional()
  @IsIn(ZONES, oneOf('overDirectedTo', ZONES))
  overDirectedTo?: Zone | null;

  @IsOptional()
  @IsInt({ message: 'overDirectedSections must be a whole number from 0 to 12.' })
  @Min(0, { message: 'overDirectedSections must be a whole number from 0 to 12.' })
  @Max(12, { message: 'overDirectedSections must be a whole number from 0 to 12.' })
  overDirectedSections?: number;

  @IsOptional()
  @IsAngle(-75, 75)
  fingerAngleDeg?: number;

  @IsOptional()
  @IsLengthMm()
  lengthAtGuideMm?: number | null;

  @IsOptional()
  @IsLengthMm()
  endLengthMm?: number | null;

  @IsOptional()
  @IsNumber(number, { message: 'sectionDepthMm must be from 1 to 60 mm.' })
  @Min(1, { message: 'sectionDepthMm must be from 1 to 60 mm.' })
  @Max(60, { message: 'sectionDepthMm must be from 1 to 60 mm.' })
  sectionDepthMm?: number | null;

  @IsOptional()
  @IsNumber(number, { message: 'stepPerSectionMm must be from -50 to 50 mm.' })
  @Min(-50, { message: 'stepPerSectionMm must be from -50 to 50 mm.' })
  @Max(50, { message: 'stepPerSectionMm must be from -50 to 50 mm.' })
  stepPerSectionMm?: number;

  @IsIn(TECHNIQUES, oneOf('technique', TECHNIQUES))
  technique: Technique;

  @IsOptional()
  @IsString({ message: 'tool must be words.' })
  @MaxLength(60, { message: 'tool can have at most 60 characters.' })
  tool?: string | null;

  @IsOptional()
  @IsBoolean({ message: 'leftToGrow must be true or false.' })
  leftToGrow?: boolean;

  @IsOptional()
  @IsString({ message: 'notes must be words.' })
  @MaxLength(1000, { message: 'notes can have at most 1,000 characters.' })
  notes?: string;
}

export class LengthInput {
  @IsIn(ZONES, oneOf('zone', ZONES))
  zone: Zone;

  @IsLengthMm()
  leftMm: number;

  /** One standard deviation; 3 mm when not said. */
  @IsOptional()
  @IsNumber(number, { message: 'leftSdMm must be from 0 to 50 mm.' })
  @Min(0, { message: 'leftSdMm must be from 0 to 50 mm.' })
  @Max(50, { message: 'leftSdMm must be from 0 to 50 mm.' })
  leftSdMm?: number;

  /** Equals leftMm when not said. */
  @IsOptional()
  @IsLengthMm()
  wantedMm?: number;

  /** False for a zone that was not touched: it keeps its earlier cut, or the length measured today. */
  @IsOptional()
  @IsBoolean({ message: 'cut must be true or false.' })
  cut?: boolean;
}

export class LinkInput {
  @IsIn(ZONES, oneOf('zone', ZONES))
  zone: Zone;

  @IsIn(ZONES, oneOf('neighbour', ZONES))
  neighbour: Zone;

  @IsIn(ZONE_LINK_KINDS, oneOf('kind', ZONE_LINK_KINDS))
  kind: ZoneLinkKind;
}

export class LimitInput {
  @IsIn(LIMIT_KINDS, oneOf('kind', LIMIT_KINDS))
  kind: LimitKind;

  @IsIn(ZONES, oneOf('zone', ZONES))
  zone: Zone;

  @IsOptional()
  @IsIn(ZONES, oneOf('against', ZONES))
  against?: Zone | null;

  @IsOptional()
  @IsIn(['difference', 'ratio'], oneOf('by', ['difference', 'ratio']))
  by?: 'difference' | 'ratio' | null;

  @IsOptional()
  @IsString({ message: 'landmark must be the name of a landmark.' })
  @MaxLength(20, { message: 'landmark can have at most 20 characters.' })
  landmark?: string | null;

  @IsNumber(number, { message: 'value must be a number from -2000 to 2000.' })
  @Min(-LONGEST_MM, { message: 'value must be a number from -2000 to 2000.' })
  @Max(LONGEST_MM, { message: 'value must be a number from -2000 to 2000.' })
  value: number;

  /** How unsure, in the unit of `value`; as learned from marks. */
  @IsOptional()
  @IsNumber(number, { message: 'sd must be a number from 0 to 500.' })
  @Min(0, { message: 'sd must be a number from 0 to 500.' })
  @Max(500, { message: 'sd must be a number from 0 to 500.' })
  sd?: number | null;
}

const list = (field: string, most: number) => ({
  array: { message: `${field} must be a list.` },
  most: { message: `${field} can have at most ${most} entries.` },
});

/** A whole formula as it is recorded. Lengths mm, angles degrees. */
export class FormulaInput {
  @IsString({ message: 'name must be words.' })
  @MinLength(1, { message: 'Give the shape a name.' })
  @MaxLength(120, { message: 'name can have at most 120 characters.' })
  name: string;

  @IsOptional()
  @IsString({ message: 'notes must be words.' })
  @MaxLength(4000, { message: 'notes can have at most 4,000 characters.' })
  notes?: string;

  @IsArray(list('steps', 60).array)
  @ArrayMaxSize(60, list('steps', 60).most)
  @ValidateNested({ each: true })
  @Type(() => StepInput)
  steps: StepInput[];

  @IsArray(list('lengths', ZONES.length).array)
  @ArrayUnique((length: LengthInput) => length?.zone, { message: 'lengths names a zone twice.' })
  @ArrayMaxSize(ZONES.length, list('lengths', ZONES.length).most)
  @ValidateNested({ each: true })
  @Type(() => LengthInput)
  lengths: LengthInput[];

  @IsOptional()
  @IsArray(list('links', 12).array)
  @ArrayMaxSize(12, list('links', 12).most)
  @ValidateNested({ each: true })
  @Type(() => LinkInput)
  links?: LinkInput[];

  @IsOptional()
  @IsArray(list('limits', 20).array)
  @ArrayMaxSize(20, list('limits', 20).most)
  @ValidateNested({ each: true })
  @Type(() => LimitInput)
  limits?: LimitInput[];
}
