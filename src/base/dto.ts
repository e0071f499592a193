import { Transform } from 'class-transformer';
import { IsOptional, ValidateBy, type ValidationOptions } from 'class-validator';
import { DomainError } from './domain-error.js';
import { isDate } from './time.js';

function trimmed(value: unknown): unknown {
  return typeof value === 'string' ? value.normalize('NFC').trim() : value;
}

/** Takes the blanks off both ends before a value is checked. */
export function Trimmed(): PropertyDecorator {
  return Transform(({ value }) => trimmed(value));
}

/** May be left out; blank text, as an empty form field sends it, counts as null: nothing there. */
export function Blankable(): PropertyDecorator {
  return (target, key) => {
    IsOptional()(target, key);
    Transform(({ value }) => {
      const text = trimmed(value);
      return text === '' ? null : text;
    })(target, key);
  };
}

/** Takes a number typed in a form field for the number it is; blank counts as null, other text stays text. */
export function NumberFromText(): PropertyDecorator {
  return Transform(({ value }) => {
    const text = trimmed(value);
    if (typeof text !== 'string') return text;
    if (text === '') return null;
    return Number.isFinite(Number(text)) ? Number(text) : text;
  });
}

/** Takes the words a form's tick box or select sends for true or false; other text stays text. */
export function FlagFromText(): PropertyDecorator {
  return Transform(({ value }) => {
    const text = trimmed(value);
    if (text === 'true' || text === 'on') return true;
    return text === 'false' || text === '' ? false : text;
  });
}

/** A real calendar date written 'YYYY-MM-DD'. */
export function IsDateText(options: ValidationOptions): PropertyDecorator {
  return ValidateBy({ name: 'isDateText', validator: { validate: isDate } }, options);
}

/** Codes such as GBP, in whatever case they are typed. */
export function UpperCase(): PropertyDecorator {
  return Transform(({ value }) => (typeof value === 'string' ? value.trim().toUpperCase() : value));
}

/** Whether `tag` is a well-formed BCP 47 tag whose dates and numbers can be written here. */
export function isWritableLocale(tag: unknown): boolean {
  if (typeof tag !== 'string') return false;
  try {
    return Intl.DateTimeFormat.supportedLocalesOf(tag).length === 1;
  } catch {
    return false;
  }
}

/** What was typed, without what was left out: that keeps its default, or in a change what it is. Throws INPUT.INVALID. */
export function given(input: unknown): object {
  if (typeof input !== 'object' || input === null || Array.isArray(input)) {
    throw new DomainError('invalid', 'INPUT.INVALID', 'Expected an object with named fields.');
  }
  return Object.fromEntries(Object.entries(input).filter(([, value]) => value !== undefined));
}
