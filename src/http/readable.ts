import { DomainError } from '../base/index.js';

/** Half a surrogate pair: no text, and libraries that encode it throw. */
const HALF_A_SIGN = /\p{Surrogate}/u;
/** Far deeper than any input of ours; a hundred times deeper, what recurses runs out of stack. */
const MOST_DEEP = 32;

/** A list or an object as parsers make them, not a file or a stream that hangs in a body. */
function isData(value: unknown): value is object {
  if (typeof value !== 'object' || value === null) return false;
  const prototype: unknown = Object.getPrototypeOf(value);
  return Array.isArray(value) || prototype === Object.prototype || prototype === null;
}

/**
 * Refuses what no room can be asked to check: broken text, nesting without end, and a list straight inside a list,
 * through which class-validator looks as if the inner one were not there. No input of ours has any. Throws
 * INPUT.INVALID.
 */
export function requireReadable(body: unknown): void {
  const waiting: { field: string; value: unknown; depth: number }[] = [{ field: '', value: body, depth: 0 }];
  for (let next = waiting.pop(); next !== undefined; next = waiting.pop()) {
    const { field, value, depth } = next;
    if (typeof value === 'string' && HALF_A_SIGN.test(value)) {
      throw DomainError.invalid('INPUT.INVALID', field, `${field}: this holds a broken sign. Type it again.`);
    }
    if (!isData(value)) continue;
    if (depth > MOST_DEEP) {
      const top = field.split('.', 1)[0] ?? '';
      throw DomainError.invalid('INPUT.INVALID', top, `${top}: this is nested too deep. Send it flatter.`);
    }
    for (const [name, inner] of Object.entries(value)) {
      if (Array.isArray(value) && Array.isArray(inner)) {
        throw DomainError.invalid(
          'INPUT.INVALID',
          field,
          `${field}: this holds a list inside a list. Send one list.`,
        );
      }
      waiting.push({ field: field === '' ? name : `${field}.${name}`, value: inner, depth: depth + 1 });
    }
  }
}
