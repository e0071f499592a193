import 'reflect-metadata';
import { type ClassConstructor, plainToInstance } from 'class-transformer';
import { type ValidationError, validate } from 'class-validator';
import { DomainError, type FieldProblem } from './domain-error.js';
import { isSurelyValid } from './surely-valid.js';

function flatten(errors: readonly ValidationError[], prefix: string): FieldProblem[] {
  return errors.flatMap((error) => {
    const field = prefix === '' ? error.property : `${prefix}.${error.property}`;
    const own = Object.values(error.constraints ?? {}).map((message) => ({ field, message }));
    return [...own.slice(0, 1), ...flatten(error.children ?? [], field)];
  });
}

/**
 * Turns untrusted input into a checked instance of `type`.
 * Throws DomainError INPUT.INVALID naming every offending field; fields `type` does not know are refused.
 */
export async function validated<T extends object>(type: ClassConstructor<T>, input: unknown): Promise<T> {
  if (typeof input !== 'object' || input === null || Array.isArray(input)) {
    throw new DomainError('invalid', 'INPUT.INVALID', 'Expected an object with named fields.');
  }
  const instance = plainToInstance(type, input);
  if (isSurelyValid(instance)) return instance;
  const errors = await validate(instance, {
    whitelist: true,
    forbidNonWhitelisted: true,
    forbidUnknownValues: true,
    stopAtFirstError: true,
  });
  if (errors.length > 0) {
    const fields = flatten(errors, '');
    const list = fields.map((problem) => problem.message).join(' ');
    throw new DomainError('invalid', 'INPUT.INVALID', list, fields);
  }
  return instance;
}
