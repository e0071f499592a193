import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js';
import formats from 'ajv-formats';

type Described = {
  readonly paths: Readonly<Record<string, object>>;
};

type Told = { readonly status: number; readonly type: string; readonly text: string };

const POINTER = { '~': '~0', '/': '~1' } as const;
const escaped = (name: string) => name.replace(/[~/]/g, (sign) => POINTER[sign as '~']);

/** Holds answers of the API against its own description (JSON Schema 2020-12, by ajv). */
export class ApiAnswers {
  private readonly ajv = new Ajv2020({ strict: false, allErrors: true });
  private readonly paths: readonly { readonly template: string; readonly matches: RegExp }[];
  private readonly checks = new Map<string, ValidateFunction | undefined>();

  constructor(private readonly document: Described) {
    formats.default(this.ajv);
    this.ajv.addSchema(JSON.parse(JSON.stringify(document)) as object, 'api');
    this.paths = Object.keys(document.paths)
      // What is named in full goes before what a parameter would match too.
      .sort((a, b) => a.split('{').length - b.split('{').length)
      .map((template) => ({ template, matches: new RegExp(`^${template.replace(/\{\w+\}/g, '[^/]+')}$`) }));
  }

  /** Throws unless the description foresees this answer; what is no route of the API is let pass. */
  require(method: string, path: string, { status, type, text }: Told): void {
    const [bare = ''] = path.split('?');
    const template = this.paths.find(({ matches }) => matches.test(bare))?.template;
    const operation =
      template && (this.document.paths[template] as Record<string, Operation>)[method.toLowerCase()];
    if (!template || !operation || status === 304) return;
    const kind = status >= 400 ? 'default' : `${status}`;
    const [media = ''] = type.split(';');
    const content = operation.responses[kind]?.content;
    const where = `${method} ${template} ${kind}`;
    if (text === '') {
      if (!operation.responses[kind] || content)
        throw new Error(`${where}: an empty answer is not described.`);
      return;
    }
    if (!content?.[media]) throw new Error(`${where}: an answer of ${media} is not described.`);
    if (!media.endsWith('json')) return;
    const pointer = ['paths', template, method.toLowerCase(), 'responses', kind, 'content', media, 'schema'];
    const check = this.checkOf(`api#/${pointer.map((name) => encodeURIComponent(escaped(name))).join('/')}`);
    if (check(JSON.parse(text))) return;
    throw new Error(
      `${where} is not as described: ${this.ajv.errorsText(check.errors)}\n${text.slice(0, 2000)}`,
    );
  }

  private checkOf(ref: string): ValidateFunction {
    const known = this.checks.get(ref);
    if (known) return known;
    const check = this.ajv.compile({ $ref: ref });
    this.checks.set(ref, check);
    return check;
  }
}

type Operation = {
  readonly responses: Readonly<
    Record<string, { readonly content?: Readonly<Record<string, unknown>> } | undefined>
  >;
};
