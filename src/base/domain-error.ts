/** What the edge needs to know to answer: it maps these to HTTP, the domain does not. */
export type DomainErrorKind = 'invalid' | 'not-found' | 'conflict' | 'forbidden' | 'refused';

/** One offending value: the field as the form or the API names it, and what to do about it. */
export type FieldProblem = { readonly field: string; readonly message: string };

/**
 * A refusal with a stable code ("CLIENT.NOT_FOUND") and words a person can act on.
 * `fields` names the offending values; `details` carries what helps next (such as the next free slots).
 */
export class DomainError extends Error {
  override readonly name = 'DomainError';

  constructor(
    readonly kind: DomainErrorKind,
    readonly code: string,
    message: string,
    readonly fields: readonly FieldProblem[] = [],
    readonly details: Readonly<Record<string, unknown>> = {},
  ) {
    super(message);
  }

  static invalid(code: string, field: string, message: string): DomainError {
    return new DomainError('invalid', code, message, [{ field, message }]);
  }

  static notFound(code: string, what: string): DomainError {
    return new DomainError('not-found', code, `There is no such ${what}. It may have been removed.`);
  }
}
