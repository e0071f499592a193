import { Transform } from 'class-transformer';
import { isZoneName } from '../base/index.js';

const text = (value: unknown) => (typeof value === 'string' ? value.trim() : value);

/** Outer spaces are never meant. */
export const Trimmed = () => Transform(({ value }) => text(value));

export const UpperCase = () =>
  Transform(({ value }) => (typeof value === 'string' ? value.trim().toUpperCase() : value));

/** A form sends numbers as digits; anything else is left for the validator to refuse. */
export const Numeric = () =>
  Transform(({ value }) => {
    const typed = text(value);
    return typeof typed === 'string' && /^-?\d+(\.\d+)?$/.test(typed) ? Number(typed) : value;
  });

/** A form's tick box or select sends words. */
export const Flag = () =>
  Transform(({ value }) => {
    if (value === 'true' || value === 'on') return true;
    return value === 'false' || value === '' ? false : value;
  });

/** A form sends an empty choice as ''. */
export const EmptyAsNull = () => Transform(({ value }) => (text(value) === '' ? null : text(value)));

export const isZoneNameRule = { name: 'isZoneName', validator: { validate: isZoneName } };

/** Whether `tag` is a well-formed BCP 47 tag whose dates and numbers can be written here. */
export function isWritableLocale(tag: unknown): boolean {
  if (typeof tag !== 'string') return false;
  try {
    return Intl.DateTimeFormat.supportedLocalesOf(tag).length === 1;
  } catch {
    return false;
  }
}
