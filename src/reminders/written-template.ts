import Handlebars from 'handlebars';
import type { MessageKind } from './entities.js';
import { KINDS } from './kinds.js';
import type { LetterFacts, LetterView } from './letter.js';
import { unknownNames } from './template-names.js';

const STRICT = { strict: true, knownHelpersOnly: true } as const;

/** A template that cannot be read or asks for something that does not exist; names the file, or what was typed. */
export class TemplateError extends Error {
  override readonly name = 'TemplateError';
}

/** A salon's own words; the newest of a kind, channel and language. */
export type OwnTemplate = {
  readonly number: number;
  readonly language: string;
  readonly subject: string | null;
  readonly body: string;
};

export type Part = (view: LetterView) => string;

/** Invented facts with which every template is tried when it is read or saved. */
export const SAMPLE: LetterFacts = {
  clientName: 'Maren',
  salonName: 'Example Salon',
  salonAddress: '4 Mill Lane\nExampleton',
  salonPhone: '+442079460100',
  serviceName: 'Full cut',
  stylistName: 'Ines',
  startsAt: Date.UTC(2026, 5, 18, 13, 30),
  endsAt: Date.UTC(2026, 5, 18, 14, 15),
  testBy: Date.UTC(2026, 5, 16, 13, 30),
  offerUntil: Date.UTC(2026, 5, 17, 19, 0),
  linkUrl: 'https://book.example.org/a/sample',
  dueOn: '2026-06-18',
  latestOn: '2026-06-26',
  unsubscribeUrl: 'https://book.example.org/unsubscribe/sample',
  zone: 'Europe/London',
  locale: 'en-GB',
};

/** Runs `work`, naming the template in any error that Handlebars throws. */
export function problemsOf<T>(name: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (error instanceof TemplateError) throw error;
    throw new TemplateError(`${name}: ${(error as Error).message}`, { cause: error });
  }
}

/** Throws TemplateError for a name that is not among `known`, or a template that cannot be parsed. */
export function checked(name: string, template: string, known: readonly string[]): string {
  const unknown = problemsOf(name, () => unknownNames(template, known));
  if (unknown.length > 0) {
    throw new TemplateError(`${name} uses ${unknown.join(', ')}. It may use: ${known.join(', ')}.`);
  }
  return template;
}

/**
 * A template of one kind of message, ready to be filled in; `html` escapes. `engine` knows the shared parts.
 * Throws TemplateError for a name the kind does not have.
 */
export function part(
  name: string,
  kind: MessageKind,
  template: string,
  { html, engine = Handlebars }: { readonly html: boolean; readonly engine?: typeof Handlebars },
): Part {
  return engine.compile(checked(name, template, KINDS[kind].names), { ...STRICT, noEscape: !html });
}
