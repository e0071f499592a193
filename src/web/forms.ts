import { type Call, type Problem, problemOf } from '../http/index.js';

/** A form as its page shows it: what was typed, and what is wrong with which field. */
export type FormState = {
  readonly values: Readonly<Record<string, string>>;
  /** Message by field name; the partials put it beside the field. */
  readonly errors: Readonly<Record<string, string>>;
  /** Everything that is wrong, for the list above the form; fields that the form does not show are told there only. */
  readonly problems: readonly { readonly field: string; readonly message: string; readonly shown: boolean }[];
};

/** Values of a submitted form as plain text; of a repeated name the last counts. */
export function typedValues(body: unknown): Record<string, string> {
  if (typeof body !== 'object' || body === null) return {};
  const entries = Object.entries(body).map(([name, value]): [string, string] => {
    const last: unknown = Array.isArray(value) ? value.at(-1) : value;
    return [name, typeof last === 'string' ? last : ''];
  });
  return Object.fromEntries(entries);
}

/** {"statedHair.age": "…"} as the service takes it: {statedHair: {age: "…"}}. */
export function nested(values: Readonly<Record<string, string>>): Record<string, unknown> {
  const result: Record<string, unknown> = {};
  const groups = new Map<string, Record<string, string>>();
  for (const [name, value] of Object.entries(values)) {
    const [group = '', inner] = name.split('.', 2);
    if (inner === undefined) {
      result[name] = value;
      continue;
    }
    const members = groups.get(group) ?? {};
    members[inner] = value;
    groups.set(group, members);
    result[group] = members;
  }
  return result;
}

export function openForm(values: Readonly<Record<string, string>> = {}): FormState {
  return { values, errors: {}, problems: [] };
}

/** `rename` turns a field as the service names it into the form's own name. */
export function refusedForm(
  values: Readonly<Record<string, string>>,
  problem: Problem,
  rename: (field: string) => string = (field) => field,
): FormState {
  const fields = problem.fields.map(({ field, message }) => ({ field: rename(field), message }));
  const problems = fields.map(({ field, message }) => ({
    field,
    message,
    shown: Object.hasOwn(values, field),
  }));
  return {
    values,
    errors: Object.fromEntries(fields.toReversed().map(({ field, message }) => [field, message])),
    problems: problems.length > 0 ? problems : [{ field: '', message: problem.detail, shown: false }],
  };
}

export type FormAnswer = {
  readonly call: Call;
  readonly values: Readonly<Record<string, string>>;
  /** Does what the form asks and redirects. */
  readonly work: () => Promise<void>;
  /** Shows the form again with its values kept; the status is already set. */
  readonly again: (form: FormState, problem: Problem) => Promise<void>;
  readonly rename?: (field: string) => string;
};

/**
 * Answers a submitted form: what a person can put right (bad values, conflicts, refusals) shows the form again with
 * every value kept and the message beside its field; all else is left to the error page.
 */
export async function answerForm({ call, values, work, again, rename }: FormAnswer): Promise<void> {
  try {
    await work();
  } catch (error) {
    const problem = problemOf(error);
    if (problem.status !== 422 && problem.status !== 409) throw error;
    call.status(problem.status);
    await again(refusedForm(values, problem, rename), problem);
  }
}
