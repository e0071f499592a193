import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Handlebars from 'handlebars';
import { MESSAGE_KINDS, type MessageKind } from './entities.js';
import { type LetterFacts, type LetterView, letterView } from './letter.js';
import { unknownNames } from './template-names.js';

const FALLBACK_LANGUAGE = 'en';
const SUBJECT_MAX = 200;

export type RenderedLetter = {
  /** Language of the template that was used. */
  readonly language: string;
  readonly subject: string;
  readonly text: string;
  readonly html: string;
};

/** Invented facts with which every template is tried when it is read. */
const SAMPLE: LetterFacts = {
  clientName: 'Maren',
  salonName: 'Example Salon',
  salonAddress: '4 Mill Lane\nExampleton',
  salonPhone: '+442079460100',
  serviceName: 'Full cut',
  stylistName: 'Ines',
  startsAt: Date.UTC(2026, 5, 18, 13, 30),
  endsAt: Date.UTC(2026, 5, 18, 14, 15),
  zone: 'Europe/London',
  locale: 'en-GB',
};

const KNOWN_NAMES = Object.keys(letterView(SAMPLE, FALLBACK_LANGUAGE));
const STRICT = { strict: true, knownHelpersOnly: true } as const;

/** A template that cannot be read or asks for something that does not exist; names the file. */
export class TemplateError extends Error {
  override readonly name = 'TemplateError';
}

type Part = (view: LetterView) => string;
type Template = { readonly subject: Part; readonly text: Part; readonly html: Part };

/** The project's own templates, from the sources as from dist/. */
export function messageTemplatesDir(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(folder, 'package.json'))) folder = dirname(folder);
  return join(folder, 'templates/messages');
}

function frontMatter(file: string, content: string): { subject: string; body: string } {
  const match = /^---\nsubject: (\S.*)\n---\n([\s\S]+)$/.exec(content.replace(/\r\n/g, '\n'));
  if (!match) {
    throw new TemplateError(`${file} must begin with three lines: "---", "subject: ...", "---".`);
  }
  return { subject: match[1]!, body: match[2]! };
}

/** Throws TemplateError for a name that LetterView does not have, or a template that cannot be parsed. */
function checked(file: string, template: string): string {
  const unknown = problemsOf(file, () => unknownNames(template, KNOWN_NAMES));
  if (unknown.length > 0) {
    throw new TemplateError(
      `${file} uses ${unknown.join(', ')}. A message may use: ${KNOWN_NAMES.join(', ')}.`,
    );
  }
  return template;
}

/** Runs `work`, naming the template in any error that Handlebars throws. */
function problemsOf<T>(file: string, work: () => T): T {
  try {
    return work();
  } catch (error) {
    throw new TemplateError(`${file}: ${(error as Error).message}`, { cause: error });
  }
}

/** One line without control characters, cut to what a header and our column hold. */
function asSubject(text: string): string {
  const line = text.replace(/[\p{Cc}\s]+/gu, ' ').trim();
  return line.length > SUBJECT_MAX ? `${line.slice(0, SUBJECT_MAX - 1)}…` : line;
}

/**
 * The Handlebars files of a folder, compiled once. Per kind of message and language:
 *
 *     <kind>/<language>.hbs        front matter with the subject, then the text
 *     <kind>/<language>.html.hbs   the same as HTML
 *     _parts/<name>.html.hbs       shared by all languages
 *     _parts/<language>.<name>.{text,html}.hbs
 *
 * Strict: a name that LetterView does not have, an unknown helper or part is an error, not a hole in somebody's
 * mail, and is found when the folder is read. Values are escaped in HTML and left alone in text.
 */
export class MessageTemplates {
  private readonly templates = new Map<string, Template>();

  /** Throws TemplateError when a kind lacks its English template or any template is broken. */
  constructor(private readonly folder: string) {
    for (const kind of MESSAGE_KINDS) {
      const languages = this.languagesOf(kind);
      if (!languages.includes(FALLBACK_LANGUAGE)) {
        throw new TemplateError(`${join(folder, kind)} lacks ${FALLBACK_LANGUAGE}.hbs.`);
      }
      for (const language of languages) {
        this.templates.set(`${kind}/${language}`, this.compile(kind, language));
        this.render(kind, { ...SAMPLE, locale: language });
      }
    }
  }

  /** Renders in the language of `facts.locale`, or in English where there is no template in it. */
  render(kind: MessageKind, facts: LetterFacts): RenderedLetter {
    const wanted = new Intl.Locale(facts.locale).language;
    const language = this.templates.has(`${kind}/${wanted}`) ? wanted : FALLBACK_LANGUAGE;
    const template = this.templates.get(`${kind}/${language}`)!;
    const view = letterView(facts, language);
    return problemsOf(`${kind}/${language}`, () => ({
      language,
      subject: asSubject(template.subject(view)),
      text: template.text(view),
      html: template.html(view),
    }));
  }

  private languagesOf(kind: MessageKind): string[] {
    const folder = join(this.folder, kind);
    if (!existsSync(folder)) return [];
    return readdirSync(folder).flatMap((name) => /^([a-z]{2,3})\.hbs$/.exec(name)?.[1] ?? []);
  }

  private compile(kind: MessageKind, language: string): Template {
    const file = join(this.folder, kind, `${language}.hbs`);
    const htmlFile = join(this.folder, kind, `${language}.html.hbs`);
    if (!existsSync(htmlFile)) throw new TemplateError(`${htmlFile} is missing.`);
    const { subject, body } = frontMatter(file, readFileSync(file, 'utf8'));
    const textEngine = this.engine(language, 'text');
    const htmlEngine = this.engine(language, 'html');
    return {
      subject: textEngine.compile(checked(file, subject), { ...STRICT, noEscape: true }),
      text: textEngine.compile(checked(file, body), { ...STRICT, noEscape: true }),
      html: htmlEngine.compile(checked(htmlFile, readFileSync(htmlFile, 'utf8')), STRICT),
    };
  }

  private engine(language: string, form: 'text' | 'html'): typeof Handlebars {
    const handlebars = Handlebars.create();
    const folder = join(this.folder, '_parts');
    for (const file of existsSync(folder) ? readdirSync(folder) : []) {
      const [, of, name, as] = /^(?:([a-z]{2,3})\.)?(\w+)\.(text|html)\.hbs$/.exec(file) ?? [];
      if (name === undefined || as !== form || (of !== undefined && of !== language)) continue;
      const path = join(folder, file);
      handlebars.registerPartial(name, checked(path, readFileSync(path, 'utf8')));
    }
    return handlebars;
  }
}
