import { applyDecorators } from '@nestjs/common';
import {
  ArrayMaxSize,
  ArrayMinSize,
  ArrayUnique,
  IsArray,
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
import { Blankable, IsDateText, isTime, NumberFromText } from '../base/index.js';
import { Id, LAST_INSTANT, OptionalVersion } from './dto.js';

const SetInstant = (name: string) =>
  applyDecorators(
    NumberFromText(),
    IsInt({ message: `${name}: give it as whole milliseconds since 1970.` }),
    Min(0, { message: `${name}: give an instant after 1970.` }),
    Max(LAST_INSTANT, { message: `${name}: give an instant before 2100.` }),
  );

/** A free slot that a client chose through her link. */
export class LinkMoveInput {
  @SetInstant('Start')
  startsAt: number;

  /** Her own stylist when left out. */
  @Blankable()
  @Id('Stylist: choose who does it.')
  staffId?: string | null;
}

const OptionalTime = (name: string) =>
  applyDecorators(
    Blankable(),
    ValidateBy(
      { name: 'isTime', validator: { validate: isTime } },
      { message: `${name}: give it as hours and minutes, such as 14:30.` },
    ),
  );

/** Who waits, for what, and when it suits her. */
export class WaitInput {
  @Id('Client: choose who waits.')
  clientId: string;

  @Id('Service: choose what is to be done.')
  serviceId: string;

  @Blankable()
  @Id('Stylist: choose who does it, or nobody for anybody.')
  staffId?: string | null;

  @IsDateText({ message: 'From: give the first day as year, month and day, such as 2026-06-09.' })
  fromDate: string;

  @IsDateText({ message: 'To: give the last day as year, month and day, such as 2026-06-16.' })
  toDate: string;

  @IsOptional()
  @IsArray({ message: 'Weekdays: give them as a list.' })
  @ArrayUnique({ message: 'Weekdays: name each once.' })
  @IsIn([1, 2, 3, 4, 5, 6, 7], { each: true, message: 'Weekdays: choose from 1 (Monday) to 7 (Sunday).' })
  weekdays?: number[] | null;

  @OptionalTime('Earliest')
  timeFrom?: string | null;

  @OptionalTime('Done by')
  timeTo?: string | null;

  @Blankable()
  @IsString({ message: 'Notes: give them as text.' })
  @MaxLength(500, { message: 'Notes: give at most 500 characters.' })
  notes?: string | null;

  /** In a change, the version that was shown. */
  @OptionalVersion('entry')
  expectedVersion?: number | null;
}

/** A free time that one who waits takes at once, by telephone. */
export class TakeInput {
  @Id('Stylist: say whose time it is.')
  staffId: string;

  @SetInstant('Start')
  startsAt: number;
}

/** A stretch of a stylist's time that became free. */
export class FreedInput {
  @Id('Stylist: say whose time it is.')
  staffId: string;

  @SetInstant('Start')
  startsAt: number;

  @SetInstant('End')
  endsAt: number;
}

export class OfferInput extends FreedInput {
  /** Whom it is offered to. */
  @IsArray({ message: 'Offer: choose at least one who waits.' })
  @ArrayMinSize(1, { message: 'Offer: choose at least one who waits.' })
  @ArrayMaxSize(20, { message: 'Offer: choose at most 20 who wait.' })
  @ArrayUnique({ message: 'Offer: choose each once.' })
  @Length(1, 36, { each: true, message: 'Offer: choose from those who wait.' })
  entryIds: string[];

  /** Minutes for which the offer stands; 720 when left out, and never beyond its start. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Standing: give a whole number of minutes.' })
  @Min(10, { message: 'Standing: let the offer stand for at least 10 minutes.' })
  @Max(20_160, { message: 'Standing: let the offer stand for at most two weeks.' })
  standsMinutes?: number | null;
}
