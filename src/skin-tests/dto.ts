import {
  IsIn,
  IsInt,
  IsOptional,
  IsString,
  IsUUID,
  Length,
  Max,
  MaxLength,
  Min,
  ValidateBy,
} from 'class-validator';
import { Blankable, IsDateText, isTime, NumberFromText, Trimmed } from '../base/index.js';
import { SAFETY_NOTE_KINDS, type SafetyNoteKind } from './entities.js';

/** An instant as milliseconds, or a date and time by the salon's clock, or none of them: now. */
abstract class MomentDto {
  @IsOptional()
  @NumberFromText()
  @Min(0, { message: 'Moment: give it as whole milliseconds since 1970, or as date and time.' })
  @IsInt({ message: 'Moment: give it as whole milliseconds since 1970, or as date and time.' })
  at?: number | null;

  @Blankable()
  @IsDateText({ message: 'Date: write a real date as YYYY-MM-DD.' })
  date?: string | null;

  @Blankable()
  @ValidateBy(
    { name: 'isTime', validator: { validate: isTime } },
    { message: 'Time: write it as HH:MM by the 24-hour clock.' },
  )
  time?: string | null;
}

/** A skin test that was applied. */
export class NewSkinTestDto extends MomentDto {
  @IsUUID(undefined, { message: 'Client: say whose skin test it is.' })
  clientId: string;

  @Trimmed()
  @Length(1, 120, {
    message: 'Product line: name the very line that was applied, in at most 120 characters.',
  })
  @IsString({ message: 'Product line: name the very line that was applied.' })
  productLine: string;

  @Trimmed()
  @Length(1, 80, { message: 'Place: say where on the skin, in at most 80 characters.' })
  @IsString({ message: 'Place: say where on the skin.' })
  place: string;

  @Blankable()
  @IsUUID(undefined, { message: 'Applied by: choose one of the staff.' })
  appliedById?: string | null;

  @IsOptional()
  @NumberFromText()
  @Min(2, { message: "Maker's validity: at least 2 days, because the test is read after 48 hours." })
  @Max(3650, { message: "Maker's validity: at most 3,650 days." })
  @IsInt({ message: "Maker's validity: write a whole number of days, or leave it empty." })
  makerValidDays?: number | null;
}

/** What was read on a skin test. */
export class ReadingDto extends MomentDto {
  @IsIn(['clear', 'reacted'], { message: 'Result: choose clear or reacted.' })
  result: 'clear' | 'reacted';

  @Blankable()
  @MaxLength(2000, { message: 'What was seen: use at most 2,000 characters.' })
  @IsString({ message: 'What was seen: write it as text.' })
  seen?: string | null;

  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Version: send the whole number that came with the skin test.' })
  expectedVersion?: number | null;
}

export class ClearanceDto {
  @Trimmed()
  @IsDateText({ message: 'Date of the document: write a real date as YYYY-MM-DD.' })
  documentedOn: string;

  @Trimmed()
  @Length(1, 160, { message: 'Issued by: name the doctor or practice, in at most 160 characters.' })
  @IsString({ message: 'Issued by: name the doctor or practice.' })
  issuedBy: string;

  @Trimmed()
  @Length(1, 2000, {
    message: 'What it says: write the words that matter, limits included, in at most 2,000 characters.',
  })
  @IsString({ message: 'What it says: write the words that matter, limits included.' })
  says: string;
}

export class SafetyNoteDto {
  @IsIn(SAFETY_NOTE_KINDS, { message: `Kind: choose one of ${SAFETY_NOTE_KINDS.join(', ')}.` })
  kind: SafetyNoteKind;

  @Trimmed()
  @Length(1, 2000, {
    message: 'What was told or seen: write it, with its date if known, in at most 2,000 characters.',
  })
  @IsString({ message: 'What was told or seen: write it as text.' })
  told: string;
}
