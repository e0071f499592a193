import { Transform } from 'class-transformer';

export const UpperCase = () =>
  Transform(({ value }) => (typeof value === 'string' ? value.trim().toUpperCase() : value));

/** Whether `tag` is a well-formed BCP 47 tag whose dates and numbers can be written here. */
export function isWritableLocale(tag: unknown): boolean {
  if (typeof tag !== 'string') return false;
  try {
    return Intl.DateTimeFormat.supportedLocalesOf(tag).length === 1;
  } catch {
    return false;
  }
}
