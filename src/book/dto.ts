import { Transform } from 'class-transformer';
import {
  IsBoolean,
  IsInt,
  IsOptional,
  IsString,
  Length,
  Max,
  MaxLength,
  Min,
  ValidateBy,
} from 'class-validator';
import { Blankable, IsDateText, isTime, NumberFromText, Trimmed } from '../base/index.js';

const Id = (message: string) => Length(1, 36, { message });

const LAST_INSTANT = Date.UTC(2100, 0);

/** Accepts what a form's tick box sends. */
const Flag = () =>
  Transform(({ value }) => {
    if (value === 'true' || value === 'on') return true;
    return value === 'false' || value === '' ? false : value;
  });

/** When an appointment is: by the salon's wall clock, or by an instant, and for how long. */
export class WhenInput {
  @Blankable()
  @IsDateText({ message: 'Date: give it as year, month and day, such as 2026-06-09.' })
  date?: string | null;

  @Blankable()
  @ValidateBy(
    { name: 'isTime', validator: { validate: isTime } },
    { message: 'Time: give it as hours and minutes, such as 14:30.' },
  )
  time?: string | null;

  /** Instead of date and time: milliseconds since 1970 in UTC. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Start: give it as whole milliseconds since 1970, or give a date and a time instead.' })
  @Min(0, { message: 'Start: give an instant after 1970.' })
  @Max(LAST_INSTANT, { message: 'Start: give an instant before 2100.' })
  startsAt?: number | null;

  /** When it takes another time than the service's own. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Minutes: give a whole number.' })
  @Min(5, { message: 'Minutes: an appointment takes at least 5.' })
  @Max(720, { message: 'Minutes: an appointment takes at most 720.' })
  minutes?: number | null;

  /** Instead of minutes: milliseconds since 1970 in UTC, one past the last moment. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'End: give it as whole milliseconds since 1970, or give the minutes instead.' })
  @Min(0, { message: 'End: give an instant after 1970.' })
  @Max(LAST_INSTANT, { message: 'End: give an instant before 2100.' })
  endsAt?: number | null;

  /** Books where the rota has no work: the desk means it. */
  @Flag()
  @IsBoolean({ message: 'Outside the rota: say true or false.' })
  outsideRota = false;
}

export class BookInput extends WhenInput {
  @Id('Client: choose who it is for.')
  clientId: string;

  @Id('Stylist: choose who does it.')
  staffId: string;

  @Id('Service: choose what is to be done.')
  serviceId: string;

  /** Colour line meant to be used; only a colour service has one. */
  @Blankable()
  @IsString({ message: 'Product line: give its name.' })
  @MaxLength(120, { message: 'Product line: give at most 120 characters.' })
  productLine?: string | null;

  @Trimmed()
  @IsString({ message: 'Notes: give them as text.' })
  @MaxLength(2000, { message: 'Notes: give at most 2,000 characters.' })
  notes = '';
}

/** What is left out stays as it is. */
export class MoveInput extends WhenInput {
  @Blankable()
  @Id('Stylist: choose who does it.')
  staffId?: string | null;

  @Blankable()
  @Id('Service: choose what is to be done.')
  serviceId?: string | null;

  @Blankable()
  @IsString({ message: 'Product line: give its name.' })
  @MaxLength(120, { message: 'Product line: give at most 120 characters.' })
  productLine?: string | null;

  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Version: give the whole number that came with the appointment.' })
  expectedVersion?: number | null;
}

export class CancelInput {
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Version: give the whole number that came with the appointment.' })
  expectedVersion?: number | null;
}

export class SlotsInput {
  @Id('Salon: say which.')
  salonId: string;

  @Id('Service: choose what is to be done.')
  serviceId: string;

  /** Only this stylist; all who cut hair when left out. */
  @Blankable()
  @Id('Stylist: choose who does it, or nobody for all.')
  staffId?: string | null;

  @IsDateText({ message: 'From: give the first day as year, month and day, such as 2026-06-09.' })
  fromDate: string;

  @IsDateText({ message: 'To: give the last day as year, month and day, such as 2026-06-16.' })
  toDate: string;

  /** Day the client is due: slots near it come first, different half-days before a second start in one. */
  @Blankable()
  @IsDateText({ message: 'Due: give the day as year, month and day, such as 2026-06-12.' })
  nearDate?: string | null;

  @Blankable()
  @Id('Preferred stylist: choose one, or nobody.')
  preferredStaffId?: string | null;

  /** When it takes another time than the service's own. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Minutes: give a whole number.' })
  @Min(5, { message: 'Minutes: an appointment takes at least 5.' })
  @Max(720, { message: 'Minutes: an appointment takes at most 720.' })
  minutes?: number | null;

  @NumberFromText()
  @IsInt({ message: 'Limit: give a whole number.' })
  @Min(1, { message: 'Limit: ask for at least 1 slot.' })
  @Max(1000, { message: 'Limit: ask for at most 1,000 slots.' })
  limit = 20;
}
