import { Transform } from 'class-transformer';

export const UpperCase = () =>
  Transform(({ value }) => (typeof value === 'string' ? value.trim().toUpperCase() : value));

/** A form's tick box or select sends words. */
export const Flag = () =>
  Transform(({ value }) => {
    if (value === 'true' || value === 'on') return true;
    return value === 'false' || value === '' ? false : value;
  });

/** Whether `tag` is a well-formed BCP 47 tag whose dates and numbers can be written here. */
export function isWritableLocale(tag: unknown): boolean {
  if (typeof tag !== 'string') return false;
  try {
    return Intl.DateTimeFormat.supportedLocalesOf(tag).length === 1;
  } catch {
    return false;
  }
}
