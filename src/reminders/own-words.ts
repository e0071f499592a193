import Handlebars from 'handlebars';
import type { Channel } from '../clients/index.js';
import type { MessageKind } from './entities.js';
import { type OwnTemplate, type Part, part } from './written-template.js';

const KEPT = 500;

/** The paragraphs of a text as HTML; addresses of pages become links. */
function asHtml(text: string): string {
  return text
    .trim()
    .split(/\n{2,}/)
    .map((paragraph) => {
      const escaped = Handlebars.escapeExpression(paragraph).replace(/&#x3D;/g, '=');
      const linked = escaped.replace(/https?:\/\/[^\s<>"]+/g, (url) => `<a href="${url}">${url}</a>`);
      return `<p style="white-space:pre-line">${linked}</p>`;
    })
    .join('\n');
}

/** A salon's own words, compiled when first used. Their HTML is made from the text, so that both say the same. */
export class OwnWords {
  private readonly compiledWords = new Map<
    string,
    { readonly name: string; readonly subject: Part; readonly text: Part; readonly html: Part }
  >();

  constructor(private readonly engineOf: (language: string, form: 'text' | 'html') => typeof Handlebars) {}

  /** Throws TemplateError. */
  compiled(kind: MessageKind, channel: Channel, words: OwnTemplate) {
    const { number, language, subject, body } = words;
    const key = [kind, channel, language, number, subject, body].join('\u0000');
    const known = this.compiledWords.get(key);
    if (known) return known;
    const plain = { html: false, engine: this.engineOf(language, 'text') };
    const text = part('The text', kind, body, plain);
    const frame = this.engineOf(language, 'html').compile('{{#> frame}}{{{html}}}{{/frame}}');
    const template = {
      name: `salon:${number}`,
      subject: part('The subject', kind, subject ?? '', plain),
      text,
      html: (view: Parameters<Part>[0]) =>
        channel === 'mail' ? frame({ ...view, html: asHtml(text(view)) }) : '',
    };
    if (this.compiledWords.size >= KEPT) this.compiledWords.clear();
    this.compiledWords.set(key, template);
    return template;
  }
}
