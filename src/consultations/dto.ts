import { Type } from 'class-transformer';
import {
  ArrayMaxSize,
  ArrayUnique,
  IsArray,
  IsBoolean,
  IsIn,
  IsInt,
  IsObject,
  IsOptional,
  IsString,
  IsUUID,
  Length,
  Max,
  MaxLength,
  Min,
  ValidateNested,
} from 'class-validator';
import { Blankable, FlagFromText, IsDateText, NumberFromText, Trimmed } from '../base/index.js';
import {
  CONSENT_MATTERS,
  CONSENT_WAYS,
  CONTRAINDICATIONS,
  type ConsentMatter,
  type ConsentWay,
  type ContraindicationKind,
  DENSITIES,
  type Density,
  GROWTH_PATTERNS,
  type GrowthPattern,
  HAIR_TEXTURES,
  type HairTexture,
  SCALP_OBSERVATIONS,
  type ScalpObservation,
  WAVES,
  type Wave,
} from './terms.js';

const MOST_MINUTES = 180;
const MOST_CONTRAINDICATIONS = 20;

const oneOf = (name: string, values: readonly string[]) => ({
  message: `${name}: choose one of ${values.join(', ')}, or leave it empty.`,
});

/** Free words of at most 4,000 characters, or none. */
function FreeWords(name: string): PropertyDecorator {
  return (target, key) => {
    Blankable()(target, key);
    MaxLength(4000, { message: `${name}: use at most 4,000 characters.` })(target, key);
    IsString({ message: `${name}: write it as text.` })(target, key);
  };
}

/** A list of words from `values`, each at most once, or none. */
function Chosen(name: string, values: readonly string[]): PropertyDecorator {
  return (target, key) => {
    IsOptional()(target, key);
    IsIn(values, { each: true, message: `${name}: choose from ${values.join(', ')}.` })(target, key);
    ArrayUnique({ message: `${name}: name each only once.` })(target, key);
    IsArray({ message: `${name}: give a list.` })(target, key);
  };
}

/** What the client tells that speaks against a service. */
class ContraindicationDto {
  @IsIn(CONTRAINDICATIONS, {
    message: `Contraindication: choose one of ${CONTRAINDICATIONS.join(', ')}.`,
  })
  kind: ContraindicationKind;

  @Trimmed()
  @Length(1, 2000, { message: 'Contraindication: write what was told, in at most 2,000 characters.' })
  @IsString({ message: 'Contraindication: write what was told as text.' })
  told: string;
}

/** What tells of health; only for those who may read health notes. */
class HealthDto {
  @Chosen('Scalp', SCALP_OBSERVATIONS)
  scalp?: ScalpObservation[] | null;

  @FreeWords('Scalp in words')
  scalpWords?: string | null;

  @IsOptional()
  @ValidateNested({ each: true, message: 'Contraindications: give each its kind and what was told.' })
  @Type(() => ContraindicationDto)
  @ArrayMaxSize(MOST_CONTRAINDICATIONS, {
    message: `Contraindications: at most ${MOST_CONTRAINDICATIONS} of them.`,
  })
  @IsArray({ message: 'Contraindications: give a list.' })
  contraindications?: ContraindicationDto[] | null;

  @FreeWords('Health in words')
  words?: string | null;
}

class ConsentGivenDto {
  @IsIn(CONSENT_MATTERS, { message: `Consent to what: choose one of ${CONSENT_MATTERS.join(', ')}.` })
  to: ConsentMatter;

  @FlagFromText()
  @IsBoolean({ message: 'Consent: answer yes (true) or no (false).' })
  given: boolean;

  /** Day of the consultation when not said. */
  @Blankable()
  @IsDateText({ message: 'Date of the consent: write a real date as YYYY-MM-DD.' })
  on?: string | null;

  @IsIn(CONSENT_WAYS, { message: `How consent was given: choose one of ${CONSENT_WAYS.join(', ')}.` })
  how: ConsentWay;
}

/** What was talked over. Only the client and the stylist are a must, and something that was said. */
export class ConsultationDto {
  @IsUUID('all', { message: 'Client: say whose consultation it is.' })
  clientId: string;

  @IsUUID('all', { message: 'Stylist: say who held it.' })
  staffId: string;

  @Blankable()
  @IsUUID('all', { message: 'Visit: name one of this client’s visits, or leave it empty.' })
  visitId?: string | null;

  /** Today when not said. */
  @Blankable()
  @IsDateText({ message: 'Date: write a real date as YYYY-MM-DD.' })
  heldOn?: string | null;

  @FreeWords('Wanted shape')
  wantedShape?: string | null;

  @Blankable()
  @IsUUID('all', { message: 'Wanted shape: choose one of the house formulas, or describe it in words.' })
  wantedFormulaId?: string | null;

  @FreeWords('Why')
  why?: string | null;

  @IsOptional()
  @NumberFromText()
  @Min(0, { message: `Daily effort: write whole minutes from 0 to ${MOST_MINUTES}.` })
  @Max(MOST_MINUTES, { message: `Daily effort: write whole minutes from 0 to ${MOST_MINUTES}.` })
  @IsInt({ message: `Daily effort: write whole minutes from 0 to ${MOST_MINUTES}.` })
  dailyEffortMinutes?: number | null;

  @FreeWords('Daily effort in words')
  dailyEffort?: string | null;

  @Blankable()
  @IsIn(DENSITIES, oneOf('Density', DENSITIES))
  density?: Density | null;

  @Blankable()
  @IsIn(HAIR_TEXTURES, oneOf('Texture', HAIR_TEXTURES))
  texture?: HairTexture | null;

  @Blankable()
  @IsIn(WAVES, oneOf('Wave', WAVES))
  wave?: Wave | null;

  @Chosen('Growth patterns', GROWTH_PATTERNS)
  growthPatterns?: GrowthPattern[] | null;

  @FreeWords('Hair in words')
  hairNotes?: string | null;

  @IsOptional()
  @ValidateNested({ message: 'Health: give named answers.' })
  @IsObject({ message: 'Health: give named answers.' })
  @Type(() => HealthDto)
  health?: HealthDto | null;

  @IsOptional()
  @ValidateNested({ each: true, message: 'Consents: give each what it is to, whether given, and how.' })
  @Type(() => ConsentGivenDto)
  @ArrayUnique((consent: ConsentGivenDto | null) => consent?.to, {
    message: 'Consents: answer each matter only once.',
  })
  @ArrayMaxSize(CONSENT_MATTERS.length, { message: 'Consents: answer each matter only once.' })
  @IsArray({ message: 'Consents: give a list.' })
  consents?: ConsentGivenDto[] | null;

  @FreeWords('Notes')
  notes?: string | null;
}
