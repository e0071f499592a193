import { applyDecorators } from '@nestjs/common';
import { IsBoolean, IsIn, IsObject, IsOptional, IsUUID } from 'class-validator';
import { Blankable, FlagFromText, type LengthUnit } from '../base/index.js';
import { UNITS } from '../salon/index.js';
import { DELIMITERS, type Delimiter } from './csv-records.js';
import { ENCODINGS, type Encoding } from './decode.js';
import { IMPORT_KINDS, type ImportKind } from './kinds.js';
import { DATE_ORDERS, type DateOrder } from './read-date.js';
import { ON_DOUBLE, ON_SHARED, type OnDouble, type OnShared } from './settings.js';

const OneOf = (name: string, choices: readonly string[]) =>
  IsIn(choices, { message: `${name}: choose one of ${choices.join(', ')}.` });
const MaybeOneOf = (name: string, choices: readonly string[]) =>
  applyDecorators(Blankable(), OneOf(name, choices));

/** What a file holds; the file itself comes beside it. */
export class ImportUploadInput {
  @OneOf('What it holds', IMPORT_KINDS)
  kind: ImportKind;
}

/** How a file is read and what is done with its rows; what is left out stays as it is. */
export class ImportSettingsInput {
  /** Field to column, from 0; null or blank for a field that no column stands for. */
  @IsOptional()
  @IsObject({ message: 'Columns: give an object of fields and the numbers of their columns, from 0.' })
  mapping?: Record<string, unknown>;

  @MaybeOneOf('Dates', DATE_ORDERS)
  dateOrder?: DateOrder | null;

  @IsOptional()
  @OneOf('Clients who are here already', ON_DOUBLE)
  onDouble?: OnDouble;

  @IsOptional()
  @OneOf('Same phone or mail, another name', ON_SHARED)
  onShared?: OnShared;

  @IsOptional()
  @OneOf('Bare lengths', UNITS)
  units?: LengthUnit;

  @Blankable()
  @IsUUID('all', { message: 'Service: choose one of the list, or none.' })
  serviceId?: string | null;

  @Blankable()
  @IsUUID('all', { message: 'Stylist: choose one of the list, or none.' })
  staffId?: string | null;

  @IsOptional()
  @FlagFromText()
  @IsBoolean({ message: 'Outside the rota: say true or false.' })
  outsideRota?: boolean;

  /** Where the file was read wrongly. */
  @IsOptional()
  @OneOf('Separator', DELIMITERS)
  delimiter?: Delimiter;

  @IsOptional()
  @OneOf('Letters', ENCODINGS)
  encoding?: Encoding;
}
