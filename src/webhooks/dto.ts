import {
  ArrayMinSize,
  ArrayUnique,
  IsArray,
  IsBoolean,
  IsIn,
  IsInt,
  IsOptional,
  IsString,
  MaxLength,
} from 'class-validator';
import { FlagFromText, NumberFromText, Trimmed } from '../base/index.js';
import { EVENT_TYPES, type EventType } from './event-types.js';

export class WebhookInput {
  @Trimmed()
  @MaxLength(500, { message: 'Address: use at most 500 characters.' })
  @IsString({ message: 'Address: write it in full, such as https://example.org/halfinch.' })
  url: string;

  @IsIn(EVENT_TYPES, { each: true, message: `Events: choose of ${EVENT_TYPES.join(', ')}.` })
  @ArrayUnique({ message: 'Events: name each only once.' })
  @ArrayMinSize(1, { message: 'Events: choose at least one.' })
  @IsArray({ message: 'Events: give a list.' })
  events: EventType[];

  @FlagFromText()
  @IsBoolean({ message: 'Say whether it is told: true or false.' })
  active: boolean = true;

  /** Refuses what somebody changed since it was looked at. */
  @NumberFromText()
  @IsOptional()
  @IsInt({ message: 'The version must be the whole number that came with the record.' })
  expectedVersion?: number;
}
