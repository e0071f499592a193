import { Type } from 'class-transformer';
import {
  IsBoolean,
  IsEmail,
  IsIn,
  IsInt,
  IsNumber,
  IsOptional,
  IsString,
  IsUUID,
  Length,
  Matches,
  Max,
  MaxLength,
  Min,
  ValidateBy,
  ValidateIf,
  ValidateNested,
} from 'class-validator';
import { Blankable, IsDateText, NumberFromText, Trimmed } from '../base/index.js';
import { CHANNELS, type Channel, PURPOSES, type Purpose, type StatedHair, TEXTURES } from './entities.js';

const ANCESTRIES = ['african', 'asian', 'european'] as const;
const AGES = ['before-puberty', 'young-adult', 'mature-adult', 'older-adult'] as const;
const SOURCES = ['desk', 'link', 'text', 'import'] as const;
/** Head circumferences of adults run from about 500 to 650 mm (ANSUR II 2012); children's from about 400. */
const CIRCUMFERENCE_MM = { min: 400, max: 700 } as const;

const NO_CONTROL_CHARACTERS = /^\P{Cc}*$/u;

function isLanguage(tag: unknown): boolean {
  try {
    return typeof tag === 'string' && Intl.DateTimeFormat.supportedLocalesOf(tag).length === 1;
  } catch {
    return false;
  }
}

const list = (choices: readonly string[]) => choices.join(', ');

/** What the client states of herself; each key may be left out, none is ever guessed. */
export class StatedHairDto implements StatedHair {
  @Blankable()
  @IsIn(ANCESTRIES, { message: `Stated ancestry: choose one of ${list(ANCESTRIES)}, or leave it out.` })
  ancestry?: (typeof ANCESTRIES)[number];

  @Blankable()
  @IsIn(AGES, { message: `Stated age group: choose one of ${list(AGES)}, or leave it out.` })
  age?: (typeof AGES)[number];

  @Blankable()
  @IsIn(TEXTURES, { message: `Stated hair texture: choose one of ${list(TEXTURES)}, or leave it out.` })
  texture?: (typeof TEXTURES)[number];
}

/** A yes or no to messages by one channel for one purpose. */
export class ConsentDto {
  @IsIn(CHANNELS, { message: `Channel: choose one of ${list(CHANNELS)}.` })
  channel: Channel;

  @IsIn(PURPOSES, { message: `Purpose: choose one of ${list(PURPOSES)}.` })
  purpose: Purpose;

  @IsBoolean({ message: 'Consent: answer yes (true) or no (false).' })
  given: boolean;

  @IsOptional()
  @IsIn(SOURCES, { message: `Source of the answer: choose one of ${list(SOURCES)}.` })
  source?: (typeof SOURCES)[number];
}

/** Everything but the names; undefined leaves a value as it is, null or blank empties it. */
abstract class ClientFields {
  @Blankable()
  @MaxLength(80, { message: 'Family name: use at most 80 characters.' })
  @Matches(NO_CONTROL_CHARACTERS, { message: 'Family name: use letters and ordinary signs, in one line.' })
  @IsString({ message: 'Family name: write it as text.' })
  familyName?: string | null;

  @Blankable()
  @MaxLength(80, { message: 'Known as: use at most 80 characters.' })
  @Matches(NO_CONTROL_CHARACTERS, { message: 'Known as: use letters and ordinary signs, in one line.' })
  @IsString({ message: 'Known as: write it as text.' })
  knownAs?: string | null;

  /** As people write it; the service turns it into E.164. */
  @Blankable()
  @MaxLength(40, { message: 'Phone: use at most 40 characters.' })
  @IsString({ message: 'Phone: write it as text, such as +44 20 7946 0123.' })
  phone?: string | null;

  @Blankable()
  @MaxLength(254, { message: 'Mail address: use at most 254 characters.' })
  @IsEmail({}, { message: 'Mail address: write it like name@example.org, or leave it empty.' })
  email?: string | null;

  /** BCP 47; null writes to her in the salon's language. */
  @Blankable()
  @MaxLength(35, { message: 'Language: use at most 35 characters, such as en-GB.' })
  @ValidateBy(
    { name: 'isLanguage', validator: { validate: isLanguage } },
    { message: 'Language: write a tag such as en-GB or de, or leave it empty.' },
  )
  language?: string | null;

  @Blankable()
  @IsDateText({ message: 'Birthday: write a real date as YYYY-MM-DD, such as 1984-05-27.' })
  birthday?: string | null;

  @Blankable()
  @IsUUID(undefined, { message: 'Preferred stylist: choose one of the list, or none.' })
  preferredStaffId?: string | null;

  @Blankable()
  @MaxLength(10_000, { message: 'Notes: use at most 10,000 characters.' })
  @IsString({ message: 'Notes: write them as text.' })
  notes?: string | null;

  @Blankable()
  @MaxLength(10_000, { message: 'Health notes: use at most 10,000 characters.' })
  @IsString({ message: 'Health notes: write them as text.' })
  healthNotes?: string | null;

  @IsOptional()
  @NumberFromText()
  @Min(CIRCUMFERENCE_MM.min, {
    message: `Head circumference: must be at least ${CIRCUMFERENCE_MM.min} mm. Check the unit.`,
  })
  @Max(CIRCUMFERENCE_MM.max, {
    message: `Head circumference: must be at most ${CIRCUMFERENCE_MM.max} mm. Check the unit.`,
  })
  @IsNumber({}, { message: 'Head circumference: write a number of millimetres.' })
  headCircumferenceMm?: number | null;

  @Blankable()
  @IsIn(['left', 'right', 'middle'], { message: 'Whorl: choose left, right or middle, or leave it empty.' })
  whorlSide?: 'left' | 'right' | 'middle' | null;

  @Blankable()
  @IsIn(['left', 'right', 'middle', 'none'], {
    message: 'Parting: choose left, right, middle or none, or leave it empty.',
  })
  partingSide?: 'left' | 'right' | 'middle' | 'none' | null;

  @Blankable()
  @ValidateNested({ message: 'Stated hair: give named answers (ancestry, age, texture).' })
  @Type(() => StatedHairDto)
  statedHair?: StatedHairDto | null;
}

function GivenName(): PropertyDecorator {
  const options = { message: 'Given name: write 1 to 80 characters.' };
  return (target, key) => {
    Trimmed()(target, key);
    Length(1, 80, options)(target, key);
    Matches(NO_CONTROL_CHARACTERS, { message: 'Given name: use letters and ordinary signs, in one line.' })(
      target,
      key,
    );
    IsString(options)(target, key);
  };
}

/** A client to be added. Only the salon and one name are a must: not everybody has a family name. */
export class NewClientDto extends ClientFields {
  @IsUUID(undefined, { message: 'Salon: name the salon the client belongs to.' })
  salonId: string;

  @GivenName()
  givenName: string;
}

/** What is to change, and the version it was read at. */
export class ClientChangeDto extends ClientFields {
  @NumberFromText()
  @IsInt({ message: 'Version: send the whole number that came with the client when you opened it.' })
  expectedVersion: number;

  @ValidateIf((_, value) => value !== undefined)
  @GivenName()
  givenName?: string;
}
