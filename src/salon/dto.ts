import { applyDecorators } from '@nestjs/common';
import { Type } from 'class-transformer';
import {
  ArrayMaxSize,
  ArrayUnique,
  IsArray,
  IsBoolean,
  IsEmail,
  IsIn,
  IsInt,
  IsISO4217CurrencyCode,
  IsNumber,
  IsOptional,
  IsString,
  Length,
  Max,
  MaxLength,
  Min,
  ValidateBy,
  ValidateIf,
  ValidateNested,
} from 'class-validator';
import { getCountries } from 'libphonenumber-js';
import {
  Blankable,
  FlagFromText,
  IsDateText,
  isTime,
  isWritableLocale,
  isZoneName,
  NumberFromText,
  Trimmed,
  UpperCase,
} from '../base/index.js';
import { ZONES, type Zone } from '../engine/zones.js';
import {
  RESOURCE_KINDS,
  type ResourceKind,
  SERVICE_KINDS,
  type ServiceKind,
  type ServiceStep,
  STEP_ACTIVITIES,
  UNITS,
  type Units,
} from './entities.js';

const TimeText = (message: string) =>
  ValidateBy({ name: 'isTime', validator: { validate: isTime } }, { message });
const Weekday = () =>
  IsIn([1, 2, 3, 4, 5, 6, 7], { message: 'Choose a weekday: 1 for Monday to 7 for Sunday.' });

/** What a form about an existing row brings along: the version it showed. Means nothing for a new one. */
class EditInput {
  @NumberFromText()
  @ValidateIf((input: EditInput) => input.expectedVersion !== undefined)
  @IsInt({ message: 'The version must be the whole number that came with the record.' })
  expectedVersion?: number;
}

export class SalonInput extends EditInput {
  @Trimmed()
  @Length(1, 120, { message: 'Give the salon a name of at most 120 characters.' })
  name: string;

  @Trimmed()
  @ValidateBy(
    { name: 'isZoneName', validator: { validate: isZoneName } },
    { message: 'Give the time zone by its IANA name, such as Europe/London.' },
  )
  zone: string;

  @IsIn(UNITS, { message: 'Choose the units for lengths: cm, in or mm.' })
  units: Units;

  @UpperCase()
  @IsISO4217CurrencyCode({ message: 'Give the currency by its three-letter ISO 4217 code, such as GBP.' })
  currency: string;

  @Trimmed()
  @MaxLength(35, { message: 'Give the language as a tag of at most 35 characters, such as en-GB.' })
  @ValidateBy(
    { name: 'isWritableLocale', validator: { validate: isWritableLocale } },
    { message: 'Give the language as a tag such as en-GB.' },
  )
  locale: string;

  @UpperCase()
  @IsIn(getCountries(), { message: 'Give the phone country by its two-letter code, such as GB.' })
  phoneRegion: string;

  @Trimmed()
  @MaxLength(254, { message: 'The mail address may have at most 254 characters.' })
  @IsEmail({}, { message: 'Give a whole mail address, such as hello@salon.example.org.' })
  email: string;

  @Trimmed()
  @Length(1, 40, { message: 'Give the salon a phone number.' })
  phone: string;

  @Trimmed()
  @Length(1, 500, { message: 'Give the salon an address of at most 500 characters.' })
  address: string;

  @NumberFromText()
  @IsInt({ message: 'Hours of notice for reminders must be a whole number.' })
  @Min(1, { message: 'Send reminders at least 1 hour ahead.' })
  @Max(336, { message: 'Send reminders at most 336 hours (two weeks) ahead.' })
  reminderHours = 48;

  @NumberFromText()
  @IsInt({ message: 'Days for which a skin test counts must be a whole number.' })
  @Min(2, { message: 'A skin test is read after 48 hours, so it must count for at least 2 days.' })
  @Max(365, { message: 'A skin test may count for at most 365 days.' })
  skinTestValidDays = 180;

  /** Null: the usual day. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Hours of notice for moving and cancelling must be a whole number.' })
  @Min(0, { message: 'Hours of notice for moving and cancelling cannot be below 0.' })
  @Max(336, { message: 'Ask for at most 336 hours (two weeks) of notice.' })
  cancelNoticeHours: number | null = null;
}

const Skills = () =>
  applyDecorators(
    IsOptional(),
    IsArray({ message: 'Skills: give them as a list.' }),
    ArrayMaxSize(30, { message: 'Skills: name at most 30.' }),
    ArrayUnique({ message: 'Skills: name each once.' }),
    Length(1, 60, { each: true, message: 'Skills: name each in 1 to 60 characters.' }),
  );

const ResourceKinds = () =>
  applyDecorators(
    IsOptional(),
    IsArray({ message: 'Resources: give them as a list.' }),
    ArrayUnique({ message: 'Resources: name each kind once.' }),
    IsIn(RESOURCE_KINDS, { each: true, message: `Resources: choose from ${RESOURCE_KINDS.join(', ')}.` }),
  );

export class StaffInput extends EditInput {
  @Trimmed()
  @Length(1, 120, { message: 'Give the name, of at most 120 characters.' })
  name: string;

  @FlagFromText()
  @IsBoolean({ message: 'Say whether this person cuts hair: true or false.' })
  cutsHair = true;

  @NumberFromText()
  @IsNumber({}, { message: 'Finger width must be a number of millimetres.' })
  @Min(8, { message: 'Finger width must be at least 8 mm.' })
  @Max(40, { message: 'Finger width must be at most 40 mm.' })
  fingerWidthMm = 18;

  @FlagFromText()
  @IsBoolean({ message: 'Say whether this person works here now: true or false.' })
  active = true;

  /** Sign-in of this person, or null for none. */
  @Blankable()
  @IsString({ message: 'Choose one of the accounts, or none.' })
  accountId: string | null = null;

  @Skills()
  skills: string[] | null = null;
}

/** One step of a service. */
export class ServiceStepInput implements ServiceStep {
  @IsIn(STEP_ACTIVITIES, { message: `Step: say which it is, ${STEP_ACTIVITIES.join(' or ')}.` })
  activity: ServiceStep['activity'];

  @NumberFromText()
  @IsInt({ message: 'Step: give its length as a whole number of minutes.' })
  @Min(5, { message: 'Step: it takes at least 5 minutes.' })
  @Max(600, { message: 'Step: it takes at most 600 minutes.' })
  minutes: number;

  @ResourceKinds()
  resources?: ResourceKind[];
}

export class ServiceInput extends EditInput {
  @Trimmed()
  @Length(1, 120, { message: 'Give the service a name of at most 120 characters.' })
  name: string;

  @IsIn(SERVICE_KINDS, { message: `Choose the kind of service: ${SERVICE_KINDS.join(', ')}.` })
  kind: ServiceKind;

  @IsArray({ message: 'Give the zones as a list.' })
  @ArrayUnique({ message: 'Name each zone once.' })
  @IsIn(ZONES, { each: true, message: `Choose zones from: ${ZONES.join(', ')}.` })
  zones: Zone[] = [];

  @NumberFromText()
  @IsInt({ message: 'The length must be a whole number of minutes.' })
  @Min(5, { message: 'A service takes at least 5 minutes.' })
  @Max(600, { message: 'A service takes at most 600 minutes.' })
  minutes: number;

  @NumberFromText()
  @IsInt({ message: 'The price must be a whole number of the smallest coin, such as 4500 for 45.00.' })
  @Min(0, { message: 'The price cannot be below nothing.' })
  @Max(100_000_000, { message: 'The price is too high to be meant.' })
  priceMinor: number;

  @FlagFromText()
  @IsBoolean({ message: 'Say whether the service can be booked: true or false.' })
  active = true;

  @IsOptional()
  @IsArray({ message: 'Steps: give them as a list, or leave them out.' })
  @ArrayMaxSize(12, { message: 'Steps: a service has at most 12.' })
  @ValidateNested({ each: true, message: 'Steps: each needs an activity and minutes.' })
  @Type(() => ServiceStepInput)
  steps: ServiceStepInput[] | null = null;

  @ResourceKinds()
  resources: ResourceKind[] | null = null;

  @Skills()
  skills: string[] | null = null;
}

export class ResourceInput extends EditInput {
  @IsIn(RESOURCE_KINDS, { message: `Choose what it is: ${RESOURCE_KINDS.join(', ')}.` })
  kind: ResourceKind;

  @Trimmed()
  @Length(1, 80, { message: 'Give it a name of at most 80 characters, such as Chair 2.' })
  name: string;

  @FlagFromText()
  @IsBoolean({ message: 'Say whether it can be used: true or false.' })
  active = true;
}

/** A stretch of one date, local time. */
class DayStretchInput {
  @TimeText('Give the start as hours and minutes, such as 09:00.')
  startsAt: string;

  @TimeText('Give the end as hours and minutes, such as 17:30.')
  endsAt: string;
}

/** What a stylist works on one date instead of her week; no stretches: nothing. */
export class RotaChangeInput {
  @IsDateText({ message: 'Give the day as a date such as 2026-06-09.' })
  onDate: string;

  @IsArray({ message: 'Give the day as a list of stretches; an empty one is a day off.' })
  @ArrayMaxSize(10, { message: 'A day may have at most 10 stretches.' })
  @ValidateNested({ each: true, message: 'Each stretch needs a start and an end.' })
  @Type(() => DayStretchInput)
  entries: DayStretchInput[];
}

/** A stretch of a weekday, local time. */
export class RotaStretchInput {
  @NumberFromText()
  @Weekday()
  weekday: number;

  @TimeText('Give the start as hours and minutes, such as 09:00.')
  startsAt: string;

  @TimeText('Give the end as hours and minutes, such as 17:30.')
  endsAt: string;
}

export class WeekInput {
  @IsArray({ message: 'Give the week as a list of stretches.' })
  @ArrayMaxSize(70, { message: 'A week may have at most 70 stretches.' })
  @ValidateNested({ each: true, message: 'Each stretch needs a weekday, a start and an end.' })
  @Type(() => RotaStretchInput)
  entries: RotaStretchInput[];
}

class OpenInput {
  @NumberFromText()
  @Weekday()
  weekday: number;

  @TimeText('Give the opening time as hours and minutes, such as 09:00.')
  opensAt: string;

  @TimeText('Give the closing time as hours and minutes, such as 18:00.')
  closesAt: string;
}

export class HoursInput {
  @IsArray({ message: 'Give the opening hours as a list.' })
  @ArrayMaxSize(70, { message: 'A week may have at most 70 stretches.' })
  @ValidateNested({ each: true, message: 'Each stretch needs a weekday, an opening and a closing time.' })
  @Type(() => OpenInput)
  entries: OpenInput[];
}

export class ClosureInput {
  /** Whose days off; null for the whole salon. */
  @Blankable()
  @IsString({ message: 'Choose one of the staff, or nobody for the whole salon.' })
  staffId: string | null = null;

  @IsDateText({ message: 'Give the first day as a date such as 2026-06-09.' })
  startsOn: string;

  /** Last day, included. */
  @IsDateText({ message: 'Give the last day as a date such as 2026-06-12.' })
  endsOn: string;

  @Trimmed()
  @Length(1, 120, { message: 'Say in at most 120 characters why nobody works then.' })
  reason: string;
}
