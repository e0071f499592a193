import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import Handlebars from 'handlebars';
import { projectRoot } from '../base/index.js';
import type { Channel } from '../clients/index.js';
import { MESSAGE_KINDS, type MessageKind } from './entities.js';
import { KINDS } from './kinds.js';
import { type LetterFacts, letterView } from './letter.js';
import { OwnWords } from './own-words.js';
import {
  checked,
  type OwnTemplate,
  type Part,
  part,
  problemsOf,
  SAMPLE,
  TemplateError,
} from './written-template.js';

const FALLBACK_LANGUAGE = 'en';
const SUBJECT_MAX = 200;
const EVERY_NAME = [...new Set(Object.values(KINDS).flatMap(({ names }) => names))];

export type RenderedLetter = {
  /** Language of the template that was used. */
  readonly language: string;
  /** Which words were used: 'file:<hash>' or 'salon:<number>'. */
  readonly template: string;
  /** Empty for a text. */
  readonly subject: string;
  readonly text: string;
  /** Empty for a text. */
  readonly html: string;
};

type Template = {
  readonly name: string;
  readonly subject: Part;
  readonly text: Part;
  readonly html: Part;
};
type Source = { readonly subject: string; readonly body: string };

/** The project's own templates, from the sources as from dist/. */
export function messageTemplatesDir(): string {
  return join(projectRoot(), 'templates/messages');
}

function frontMatter(file: string, content: string): { subject: string; body: string } {
  const match = /^---\nsubject: (\S.*)\n---\n([\s\S]+)$/.exec(content.replace(/\r\n/g, '\n'));
  if (!match) {
    throw new TemplateError(`${file} must begin with three lines: "---", "subject: ...", "---".`);
  }
  return { subject: match[1]!, body: match[2]! };
}

/** One line without control characters, cut to what a header and our column hold. */
function asSubject(text: string): string {
  const line = text.replace(/[\p{Cc}\s]+/gu, ' ').trim();
  return line.length > SUBJECT_MAX ? `${line.slice(0, SUBJECT_MAX - 1)}…` : line;
}

const nothing: Part = () => '';

/**
 * The Handlebars files of a folder, compiled once. Per kind of message and language:
 *
 *     <kind>/<language>.hbs        mail: front matter with the subject, then the text
 *     <kind>/<language>.html.hbs   the same as HTML
 *     <kind>/<language>.sms.hbs    the short form for texts
 *     _parts/<name>.html.hbs       shared by all languages
 *     _parts/<language>.<name>.{text,html}.hbs
 *
 * Strict: a name that the kind does not have, an unknown helper or part is an error, not a hole in somebody's
 * mail, and is found when the folder is read. Values are escaped in HTML and left alone in text.
 */
export class MessageTemplates {
  private readonly templates = new Map<string, Template>();
  private readonly sources = new Map<string, Source>();
  private readonly engines = new Map<string, typeof Handlebars>();
  private readonly own = new OwnWords((language, form) => this.engine(language, form));

  /** Throws TemplateError when a kind lacks its English template or any template is broken. */
  constructor(private readonly folder: string) {
    for (const kind of MESSAGE_KINDS) {
      for (const channel of ['mail', 'text'] as const) this.read(kind, channel);
    }
  }

  /**
   * Renders in the language of the client, else of the salon, else in English: the first that has words. The
   * salon's `own` words come before the program's in the same language.
   */
  render(
    kind: MessageKind,
    facts: LetterFacts,
    channel: Channel = 'mail',
    own: readonly OwnTemplate[] = [],
  ): RenderedLetter {
    for (const language of wantedLanguages(facts)) {
      const words = own.find((one) => one.language === language);
      const template = words
        ? this.own.compiled(kind, channel, words)
        : this.templates.get(`${kind}/${channel}/${language}`);
      if (!template) continue;
      const view = letterView(facts, language);
      return problemsOf(`${kind}/${language}`, () => ({
        language,
        template: template.name,
        subject: asSubject(template.subject(view)),
        text: template.text(view),
        html: template.html(view),
      }));
    }
    throw new TemplateError(`${kind} has no words in English.`);
  }

  /** Throws TemplateError when these words could not be sent: a name unknown to the kind, a tag left open. */
  check(kind: MessageKind, channel: Channel, words: OwnTemplate): void {
    const facts = { ...SAMPLE, language: words.language };
    this.render(kind, facts, channel, [words]);
  }

  /** The words that come with the program, as an editor shows them; those in English where a language has none. */
  sourceOf(kind: MessageKind, channel: Channel, language: string): Source {
    return (
      this.sources.get(`${kind}/${channel}/${language}`) ??
      this.sources.get(`${kind}/${channel}/${FALLBACK_LANGUAGE}`)!
    );
  }

  private read(kind: MessageKind, channel: Channel): void {
    const languages = this.languagesOf(kind, channel);
    const ending = channel === 'mail' ? 'hbs' : 'sms.hbs';
    if (!languages.includes(FALLBACK_LANGUAGE)) {
      throw new TemplateError(`${join(this.folder, kind)} lacks ${FALLBACK_LANGUAGE}.${ending}.`);
    }
    for (const language of languages) {
      const key = `${kind}/${channel}/${language}`;
      this.templates.set(key, channel === 'mail' ? this.mail(kind, language) : this.text(kind, language));
      this.render(kind, { ...SAMPLE, language }, channel);
    }
  }

  private languagesOf(kind: MessageKind, channel: Channel): string[] {
    const folder = join(this.folder, kind);
    const name = channel === 'mail' ? /^([a-z]{2,3})\.hbs$/ : /^([a-z]{2,3})\.sms\.hbs$/;
    if (!existsSync(folder)) return [];
    return readdirSync(folder).flatMap((file) => name.exec(file)?.[1] ?? []);
  }

  private mail(kind: MessageKind, language: string): Template {
    const file = join(this.folder, kind, `${language}.hbs`);
    const htmlFile = join(this.folder, kind, `${language}.html.hbs`);
    if (!existsSync(htmlFile)) throw new TemplateError(`${htmlFile} is missing.`);
    const content = readFileSync(file, 'utf8');
    const html = readFileSync(htmlFile, 'utf8');
    const source = frontMatter(file, content);
    this.sources.set(`${kind}/mail/${language}`, source);
    const engine = this.engine(language, 'text');
    return {
      name: fileName(content, html),
      subject: part(file, kind, source.subject, { html: false, engine }),
      text: part(file, kind, source.body, { html: false, engine }),
      html: part(htmlFile, kind, html, { html: true, engine: this.engine(language, 'html') }),
    };
  }

  private text(kind: MessageKind, language: string): Template {
    const file = join(this.folder, kind, `${language}.sms.hbs`);
    const body = readFileSync(file, 'utf8').trim();
    this.sources.set(`${kind}/text/${language}`, { subject: '', body });
    const engine = this.engine(language, 'text');
    return {
      name: fileName(body),
      subject: nothing,
      text: part(file, kind, body, { html: false, engine }),
      html: nothing,
    };
  }

  private engine(language: string, form: 'text' | 'html'): typeof Handlebars {
    const key = `${language}.${form}`;
    const known = this.engines.get(key);
    if (known) return known;
    const handlebars = Handlebars.create();
    const folder = join(this.folder, '_parts');
    for (const file of existsSync(folder) ? readdirSync(folder) : []) {
      const [, of = language, name, as] = /^(?:([a-z]{2,3})\.)?(\w+)\.(text|html)\.hbs$/.exec(file) ?? [];
      if (name === undefined || as !== form || (of !== language && of !== FALLBACK_LANGUAGE)) continue;
      // The language's own part takes the place of the English one.
      if (of !== language && existsSync(join(folder, `${language}.${name}.${form}.hbs`))) continue;
      const path = join(folder, file);
      handlebars.registerPartial(name, checked(path, readFileSync(path, 'utf8'), EVERY_NAME));
    }
    this.engines.set(key, handlebars);
    return handlebars;
  }
}

const wanted = new Map<string, readonly string[]>();

function wantedLanguages({ language, locale }: LetterFacts): readonly string[] {
  const key = `${language} ${locale}`;
  let languages = wanted.get(key);
  if (languages === undefined) {
    const tags = [language, locale].flatMap((tag) => (tag ? [new Intl.Locale(tag).language] : []));
    languages = [...new Set([...tags, FALLBACK_LANGUAGE])];
    wanted.set(key, languages);
  }
  return languages;
}

/** Changes whenever the words do. */
function fileName(...contents: string[]): string {
  const hash = createHash('sha256');
  for (const content of contents) hash.update(content);
  return `file:${hash.digest('hex').slice(0, 12)}`;
}
