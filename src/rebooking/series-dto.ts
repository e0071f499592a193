import { Type } from 'class-transformer';
import {
  ArrayMaxSize,
  ArrayMinSize,
  IsArray,
  IsIn,
  IsInt,
  IsOptional,
  Length,
  Max,
  Min,
  ValidateBy,
  ValidateNested,
} from 'class-validator';
import { Blankable, isTime, NumberFromText, Trimmed } from '../base/index.js';

const LAST_INSTANT = Date.UTC(2100, 0);

export class SeriesWishInput {
  @IsOptional()
  @IsIn(['price', 'minutes'], { message: 'Wish: say what she wants least of, price or minutes.' })
  wish?: 'price' | 'minutes' | null;

  /** Her usual stylist when left out. */
  @Blankable()
  @Length(1, 36, { message: 'Stylist: choose who does it.' })
  staffId?: string | null;

  /** Start she likes, as local time. */
  @Blankable()
  @ValidateBy(
    { name: 'isTime', validator: { validate: isTime } },
    { message: 'Time: give it as hours and minutes, such as 14:30.' },
  )
  time?: string | null;
}

/** One visit of a series: one service after the other in one sitting with one stylist. */
export class SeriesVisitInput {
  @Length(1, 36, { message: 'Stylist: choose who does it.' })
  staffId: string;

  @IsArray({ message: 'Services: give them as a list.' })
  @ArrayMinSize(1, { message: 'Services: choose at least one.' })
  @ArrayMaxSize(5, { message: 'Services: choose at most five for one visit.' })
  @Length(1, 36, { each: true, message: 'Services: choose them from the list.' })
  serviceIds: string[];

  @NumberFromText()
  @IsInt({ message: 'Start: give it as whole milliseconds since 1970.' })
  @Min(0, { message: 'Start: give an instant after 1970.' })
  @Max(LAST_INSTANT, { message: 'Start: give an instant before 2100.' })
  startsAt: number;
}

export class SeriesInput {
  @Length(1, 36, { message: 'Client: choose who it is for.' })
  clientId: string;

  @Trimmed()
  @Length(1, 120, { message: 'Name: give the series one, of at most 120 characters.' })
  name: string;

  @IsArray({ message: 'Visits: give them as a list.' })
  @ArrayMinSize(1, { message: 'Visits: give at least one.' })
  @ArrayMaxSize(60, { message: 'Visits: give at most 60.' })
  @ValidateNested({ each: true, message: 'Visits: each needs a stylist, services and a start.' })
  @Type(() => SeriesVisitInput)
  visits: SeriesVisitInput[];
}

/** What is left out stays. */
export class SeriesChangeInput {
  /** This appointment and those after it; all that are ahead when left out. */
  @Blankable()
  @Length(1, 36, { message: 'From: choose a visit of the series.' })
  fromId?: string | null;

  @Blankable()
  @Length(1, 36, { message: 'Stylist: choose who does it.' })
  staffId?: string | null;

  /** Every visit this many days later; earlier when below 0. */
  @IsOptional()
  @NumberFromText()
  @IsInt({ message: 'Days: give a whole number.' })
  @Min(-60, { message: 'Days: move it by at most 60.' })
  @Max(60, { message: 'Days: move it by at most 60.' })
  shiftDays?: number | null;

  /** Every visit at this local time. */
  @Blankable()
  @ValidateBy(
    { name: 'isTime', validator: { validate: isTime } },
    { message: 'Time: give it as hours and minutes, such as 14:30.' },
  )
  time?: string | null;
}

/** The one visit that is left out. */
export class SeriesSkipInput {
  @Length(1, 36, { message: 'Visit: choose one of this series.' })
  appointmentId: string;

  /** Refuses what somebody changed since it was looked at. */
  @NumberFromText()
  @IsOptional()
  @IsInt({ message: 'The version must be the whole number that came with the appointment.' })
  expectedVersion?: number | null;
}
