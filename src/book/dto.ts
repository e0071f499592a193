import { applyDecorators } from '@nestjs/common';
import {
  ArrayMaxSize,
  IsArray,
  IsBoolean,
  IsIn,
  IsInt,
  IsOptional,
  IsString,
  Length,
  Max,
  MaxLength,
  Min,
  ValidateBy,
} from 'class-validator';
import { Blankable, FlagFromText, IsDateText, isTime, NumberFromText } from '../base/index.js';

import { ZONES, type Zone } from '../engine/zones.js';
import { DAY_PARTS, type DayPart } from './rank-slots.js';

export const LAST_INSTANT = Date.UTC(2100, 0);

export const Id = (message: string) => Length(1, 36, { message });

const OptionalInstant = (name: string, instead: string) =>
  applyDecorators(
    IsOptional(),
    NumberFromText(),
    IsInt({ message: `${name}: give it as whole milliseconds since 1970, or give ${instead} instead.` }),
    Min(0, { message: `${name}: give an instant after 1970.` }),
    Max(LAST_INSTANT, { message: `${name}: give an instant before 2100.` }),
  );

const OptionalMinutes = () =>
  applyDecorators(
    IsOptional(),
    NumberFromText(),
    IsInt({ message: 'Minutes: give a whole number.' }),
    Min(5, { message: 'Minutes: an appointment takes at least 5.' }),
    Max(720, { message: 'Minutes: an appointment takes at most 720.' }),
  );

export const OptionalVersion = (of = 'appointment') =>
  applyDecorators(
    IsOptional(),
    NumberFromText(),
    IsInt({ message: `Version: give the whole number that came with the ${of}.` }),
  );

/** When an appointment is: by the salon's wall clock, or by an instant; for how long; and with which colour. */
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
  @OptionalInstant('Start', 'a date and a time')
  startsAt?: number | null;

  /** When it takes another time than the service's own. */
  @OptionalMinutes()
  minutes?: number | null;

  /** Instead of minutes: milliseconds since 1970 in UTC, one past the last moment. */
  @OptionalInstant('End', 'the minutes')
  endsAt?: number | null;

  /** Books where the rota has no work: the desk means it. */
  @IsOptional()
  @FlagFromText()
  @IsBoolean({ message: 'Outside the rota: say true or false.' })
  outsideRota?: boolean | null;

  /** Colour line meant to be used; only a colour service has one. */
  @Blankable()
  @IsString({ message: 'Product line: give its name.' })
  @MaxLength(120, { message: 'Product line: give at most 120 characters.' })
  productLine?: string | null;
}

const OptionalServices = () =>
  applyDecorators(
    IsOptional(),
    IsArray({ message: 'More services: give them as a list.' }),
    ArrayMaxSize(4, { message: 'More services: choose at most four for one sitting.' }),
    Length(1, 36, { each: true, message: 'More services: choose them from the list.' }),
  );

export class BookInput extends WhenInput {
  @Id('Client: choose who it is for.')
  clientId: string;

  @Id('Stylist: choose who does it.')
  staffId: string;

  @Id('Service: choose what is to be done.')
  serviceId: string;

  /** Done after it in the same sitting. */
  @OptionalServices()
  alsoServiceIds?: string[] | null;

  @Blankable()
  @IsString({ message: 'Notes: give them as text.' })
  @MaxLength(2000, { message: 'Notes: give at most 2,000 characters.' })
  notes?: string | null;
}

/** What is left out stays as it is. */
export class MoveInput extends WhenInput {
  @Blankable()
  @Id('Stylist: choose who does it.')
  staffId?: string | null;

  @Blankable()
  @Id('Service: choose what is to be done.')
  serviceId?: string | null;

  @OptionalVersion()
  expectedVersion?: number | null;
}

export class CancelInput {
  @OptionalVersion()
  expectedVersion?: number | null;
}

export class SlotsInput {
  @Id('Salon: say which.')
  salonId: string;

  /** What is to be done; or `zones`. */
  @Blankable()
  @Id('Service: choose what is to be done.')
  serviceId?: string | null;

  /** Done after it in the same sitting: the search looks for one time for all, by their own steps. */
  @OptionalServices()
  alsoServiceIds?: string[] | null;

  /** Instead of a service: the zones that want cutting, for the cheapest tidy that covers them, else a full cut. */
  @IsOptional()
  @IsArray({ message: 'Zones: give them as a list.' })
  @IsIn(ZONES, { each: true, message: `Zones: choose from ${ZONES.join(', ')}.` })
  zones?: Zone[] | null;

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

  /** First and last day of the client's rebooking window; slots outside it come last. */
  @Blankable()
  @IsDateText({ message: 'Window: give its first day as year, month and day, such as 2026-06-02.' })
  windowFrom?: string | null;

  @Blankable()
  @IsDateText({ message: 'Window: give its last day as year, month and day, such as 2026-06-15.' })
  windowTo?: string | null;

  @Blankable()
  @Id('Preferred stylist: choose one, or nobody.')
  preferredStaffId?: string | null;

  /** Times of day the client likes; the others come after them. */
  @IsOptional()
  @IsArray({ message: 'Times of day: give them as a list.' })
  @IsIn(DAY_PARTS, { each: true, message: `Times of day: choose from ${DAY_PARTS.join(', ')}.` })
  dayParts?: DayPart[] | null;

  /** When it takes another time than the service's own. */
  @OptionalMinutes()
  minutes?: number | null;

  /** 20 when left out. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Limit: give a whole number.' })
  @Min(1, { message: 'Limit: ask for at least 1 slot.' })
  @Max(1000, { message: 'Limit: ask for at most 1,000 slots.' })
  limit?: number | null;
}
