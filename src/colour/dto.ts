import { Type } from 'class-transformer';
import {
  ArrayMaxSize,
  ArrayMinSize,
  ArrayUnique,
  IsArray,
  IsIn,
  IsInt,
  IsNumber,
  IsOptional,
  IsString,
  Length,
  Max,
  MaxLength,
  Min,
  ValidateNested,
} from 'class-validator';
import { Blankable, NumberFromText, Trimmed } from '../base/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import { MOST_PERCENT, volumesOfPercent } from './developer.js';
import { COLOUR_PLACES, type ColourPlace } from './entities.js';

const MOST_LINES = 12;
const MOST_PARTS = 100;
const LEAST_PARTS = 0.01;
const MOST_MINUTES = 180;
const MOST_TOLERANCE_MM = 300;

const number = { allowNaN: false, allowInfinity: false };

/** A number in a range, from a form's text or a number proper. */
function InRange(from: number, to: number, message: string): PropertyDecorator {
  return (target, key) => {
    NumberFromText()(target, key);
    Min(from, { message })(target, key);
    Max(to, { message })(target, key);
    IsNumber(number, { message })(target, key);
  };
}

const PARTS = `write a number from ${LEAST_PARTS} to ${MOST_PARTS}.`;

class ColourLineDto {
  @Trimmed()
  @Length(1, 120, {
    message: 'Product line: name the very line, as on its skin test, in at most 120 characters.',
  })
  @IsString({ message: 'Product line: name the very line, as on its skin test.' })
  productLine: string;

  @Trimmed()
  @Length(1, 60, { message: 'Shade: write its number or name, in at most 60 characters.' })
  @IsString({ message: 'Shade: write its number or name.' })
  shade: string;

  @InRange(LEAST_PARTS, MOST_PARTS, `Parts: ${PARTS}`)
  parts: number;
}

/** One mixture. The developer by percent or by volumes, never both; none at all where nothing develops. */
export class ColourFormulaDto {
  @Trimmed()
  @Length(1, 120, { message: 'Name: write 1 to 120 characters, such as "roots".' })
  @IsString({ message: 'Name: write 1 to 120 characters, such as "roots".' })
  name: string;

  @ArrayUnique({ message: 'Zones: name each only once.' })
  @IsIn(ZONES, { each: true, message: `Zones: choose from ${ZONES.join(', ')}.` })
  @ArrayMinSize(1, { message: 'Zones: say where it was put on.' })
  @IsArray({ message: 'Zones: give a list.' })
  zones: Zone[];

  @IsIn(COLOUR_PLACES, { message: `Part of the hair: choose one of ${COLOUR_PLACES.join(', ')}.` })
  place: ColourPlace;

  @ValidateNested({ each: true, message: 'Lines: give each its product line, shade and parts.' })
  @Type(() => ColourLineDto)
  @ArrayMaxSize(MOST_LINES, { message: `Lines: at most ${MOST_LINES} in one mixture.` })
  @ArrayMinSize(1, { message: 'Lines: name what was mixed.' })
  @IsArray({ message: 'Lines: give a list.' })
  lines: ColourLineDto[];

  @IsOptional()
  @InRange(0.1, MOST_PERCENT, `Developer: write a strength from 0.1 to ${MOST_PERCENT} percent.`)
  developerPercent?: number | null;

  @IsOptional()
  @InRange(
    0.3,
    volumesOfPercent(MOST_PERCENT),
    `Developer: write a strength from 0.3 to ${volumesOfPercent(MOST_PERCENT)} volumes.`,
  )
  developerVolumes?: number | null;

  @IsOptional()
  @InRange(LEAST_PARTS, MOST_PARTS, `Parts of developer: ${PARTS}`)
  developerParts?: number | null;

  /** How long it was on. The maker's instructions say how long it may be. */
  @NumberFromText()
  @Min(1, { message: `Time: write whole minutes from 1 to ${MOST_MINUTES}.` })
  @Max(MOST_MINUTES, { message: `Time: write whole minutes from 1 to ${MOST_MINUTES}.` })
  @IsInt({ message: `Time: write whole minutes from 1 to ${MOST_MINUTES}.` })
  minutes: number;

  @Blankable()
  @MaxLength(4000, { message: 'Notes: use at most 4,000 characters.' })
  @IsString({ message: 'Notes: write them as text.' })
  notes?: string | null;
}

/** How wide a root band a client bears. */
export class ToleranceDto {
  @InRange(1, MOST_TOLERANCE_MM, `Tolerance: write a width from 1 to ${MOST_TOLERANCE_MM} mm.`)
  toleranceMm: number;

  /** Where it is looked at; the parting, top, when not said. */
  @Blankable()
  @IsIn(ZONES, { message: `Zone: choose one of ${ZONES.join(', ')}, or leave it empty.` })
  zone?: Zone | null;

  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Version: send the whole number that came with the tolerance.' })
  expectedVersion?: number | null;
}
