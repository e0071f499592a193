import { Transform } from 'class-transformer';
import { DomainError } from '../base/index.js';

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

/** What was typed, without what was left out: that keeps its default, or in a change what it is. */
export function given(input: unknown): object {
  if (typeof input !== 'object' || input === null || Array.isArray(input)) {
    throw new DomainError('invalid', 'INPUT.INVALID', 'Expected an object with named fields.');
  }
  return Object.fromEntries(Object.entries(input).filter(([, value]) => value !== undefined));
}
