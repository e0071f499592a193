import { IsOptional, IsString, IsUUID, MaxLength } from 'class-validator';
import { DomainError, isDate } from '../base/index.js';

/** Throws naming the parameter unless it is an id as this API hands them out. */
export function requireId(id: string, field: string): string {
  if (!/^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/i.test(id)) {
    throw DomainError.invalid(
      'INPUT.INVALID',
      field,
      `${field} must be an id such as those in this API's answers.`,
    );
  }
  return id.toLowerCase();
}

/** Throws naming the parameter unless it is a date; `fallback` stands for one left out. */
export function dateParam(value: string | undefined, field: string, fallback: string): string {
  if (value === undefined || value === '') return fallback;
  if (!isDate(value)) {
    throw DomainError.invalid('INPUT.INVALID', field, `${field} must be a real date such as 2026-05-14.`);
  }
  return value;
}

/** Throws naming the parameter unless it is a whole number in range. */
export function countParam(value: string | undefined, field: string, fallback: number, most: number): number {
  if (value === undefined || value === '') return fallback;
  const count = Number(value);
  if (!Number.isInteger(count) || count < 1 || count > most) {
    throw DomainError.invalid('INPUT.INVALID', field, `${field} must be a whole number from 1 to ${most}.`);
  }
  return count;
}

/** Throws naming the parameter unless it is an instant in milliseconds or left out. */
export function instantParam(value: string | undefined, field: string): number | undefined {
  if (value === undefined || value === '') return undefined;
  if (/^\d{1,15}$/.test(value)) return Number(value);
  const message = `${field} must be an instant in milliseconds since 1970, such as 1780300800000.`;
  throw DomainError.invalid('INPUT.INVALID', field, message);
}

/** Throws naming the parameter unless it is one of those known or left out. */
export function choiceParam<T extends string>(
  value: string | undefined,
  field: string,
  known: readonly T[],
): T | undefined {
  if (value === undefined || value === '') return undefined;
  const choice = known.find((one) => one === value);
  if (choice === undefined) {
    throw DomainError.invalid('INPUT.INVALID', field, `${field} must be one of ${known.join(', ')}.`);
  }
  return choice;
}

/** Throws naming the parameter, which says nothing together with `search`. */
export function requireAlone(value: string | undefined, field: string): void {
  if (value === undefined) return;
  throw DomainError.invalid('INPUT.INVALID', field, `${field} goes with no search: leave one of them out.`);
}

export class SearchQuery {
  @IsOptional()
  @IsString({ message: 'search must be text.' })
  @MaxLength(100, { message: 'search can have at most 100 characters.' })
  search?: string;

  @IsOptional()
  @IsString({ message: 'changedSince must be an instant in milliseconds.' })
  changedSince?: string;

  @IsOptional()
  @IsString({ message: 'cursor must be the `next` of the page before.' })
  cursor?: string;

  @IsOptional()
  @IsString({ message: 'limit must be a whole number.' })
  limit?: string;
}

export class SlotsQuery {
  @IsUUID('all', { message: 'serviceId must name a service.' })
  serviceId: string;

  @IsOptional()
  @IsUUID('all', { message: 'staffId must name a stylist.' })
  staffId?: string;

  @IsOptional()
  @IsString({ message: 'from must be a date such as 2026-05-14.' })
  from?: string;

  @IsOptional()
  @IsString({ message: 'to must be a date such as 2026-05-14.' })
  to?: string;

  @IsOptional()
  @IsString({ message: 'limit must be a whole number.' })
  limit?: string;
}
