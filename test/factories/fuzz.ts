import type { OpenAPIObject } from '@nestjs/swagger';
import fc from 'fast-check';

type Schema = {
  readonly $ref?: string;
  readonly type?: string;
  readonly enum?: readonly unknown[];
  readonly format?: string;
  readonly minLength?: number;
  readonly maxLength?: number;
  readonly minimum?: number;
  readonly maximum?: number;
  readonly pattern?: string;
  readonly items?: Schema;
  readonly properties?: Readonly<Record<string, Schema>>;
  readonly required?: readonly string[];
  readonly allOf?: readonly Schema[];
  readonly anyOf?: readonly Schema[];
  readonly oneOf?: readonly Schema[];
  readonly not?: Schema;
};

export type FuzzRequest = {
  readonly method: string;
  /** As the document has it: /api/v1/clients/{id}. */
  readonly route: string;
  readonly url: string;
  readonly headers: Readonly<Record<string, string>>;
  readonly payload: string | undefined;
};

/** Ids that exist, so that requests get past "there is no such". */
export type KnownIds = Readonly<Record<string, string>>;

/** What breaks programs more often than random text does. */
const NASTY: readonly unknown[] = [
  null,
  true,
  false,
  0,
  -1,
  1.5,
  1e308,
  -0,
  2 ** 53,
  '',
  ' ',
  '\u0000',
  'NaN',
  '__proto__',
  "'; DROP TABLE client; --",
  '%',
  '%00',
  '../../etc/passwd',
  '<script>alert(1)</script>',
  '{{constructor}}',
  '\ud800',
  'a'.repeat(5000),
  '2026-02-30',
  '0000-00-00',
  '9999-12-31',
  '-000001-01-01',
  '25:61',
  '١٢٣',
  [],
  {},
  [[]],
  { $gt: '' },
  { toString: 1 },
];

const nasty = fc.constantFrom<unknown>(...NASTY);
const MOST_DEEP = 4;

function resolved(schema: Schema, document: OpenAPIObject): Schema {
  if (!schema.$ref) return schema;
  const name = schema.$ref.slice(schema.$ref.lastIndexOf('/') + 1);
  return (document.components?.schemas?.[name] ?? {}) as Schema;
}

/** Mostly what the schema asks for, now and then something else. */
function valueFor(
  given: Schema,
  document: OpenAPIObject,
  ids: readonly string[],
  depth: number,
): fc.Arbitrary<unknown> {
  const schema = resolved(given, document);
  const id = fc.oneof(fc.constantFrom(...ids), fc.uuid());
  const inner = (part: Schema) => valueFor(part, document, ids, depth + 1);
  const good = (): fc.Arbitrary<unknown> => {
    const options = schema.anyOf ?? schema.oneOf;
    if (options?.length) return fc.oneof(...options.map(inner));
    if (schema.enum?.length) return fc.constantFrom<unknown>(...schema.enum);
    if (schema.format === 'uuid') return id;
    if (schema.format === 'email') return fc.constantFrom('a@example.org', 'a@', '@example.org');
    switch (schema.type) {
      case 'integer':
      case 'number':
        return fc.oneof(
          fc.integer({
            min: Math.ceil(schema.minimum ?? -10),
            max: Math.floor(schema.maximum ?? 4_000_000_000_000),
          }),
          fc.double(),
        );
      case 'boolean':
        return fc.boolean();
      case 'array':
        if (depth > MOST_DEEP) return fc.constant([]);
        return fc.array(inner(schema.items ?? {}), { maxLength: 4 });
      case 'string':
        return fc.oneof(
          fc.string({ maxLength: Math.min(schema.maxLength ?? 40, 60) }),
          fc.string({ unit: 'binary', maxLength: 30 }),
          fc.constantFrom('2026-06-16', '2026-05-30', '10:00', '10:07', 'nape', '020 7946 0123'),
          id,
        );
      default:
        return schema.properties && depth <= MOST_DEEP ? objectFor(schema, document, ids, depth) : nasty;
    }
  };
  return fc.oneof({ arbitrary: good(), weight: 9 }, { arbitrary: nasty, weight: 1 });
}

function objectFor(
  schema: Schema,
  document: OpenAPIObject,
  ids: readonly string[],
  depth: number,
): fc.Arbitrary<unknown> {
  const entries = Object.entries(schema.properties ?? {}).map(
    ([name, part]) => [name, valueFor(part, document, ids, depth)] as const,
  );
  const required = new Set(schema.required ?? []);
  const model = Object.fromEntries(entries);
  const kept = Object.keys(model).filter((name) => required.has(name));
  return fc.record(model, { requiredKeys: kept });
}

function bodyOf(operation: object): Schema | undefined {
  const { requestBody } = operation as {
    requestBody?: { content?: Record<string, { schema?: Schema }> };
  };
  return requestBody?.content?.['application/json']?.schema;
}

/** Breaks a text that was well formed: cuts, doubles, swaps and strange bytes. */
const broken = (text: string): fc.Arbitrary<string> =>
  fc
    .tuple(fc.nat(text.length), fc.nat(text.length), fc.constantFrom('cut', 'double', 'insert'), fc.string())
    .map(([from, to, how, extra]) => {
      const [start, end] = [Math.min(from, to), Math.max(from, to)];
      if (how === 'cut') return text.slice(0, start) + text.slice(end);
      if (how === 'double') return text.slice(0, end) + text.slice(start);
      return text.slice(0, start) + extra + text.slice(start);
    });

/** Requests made from the API's own description, most of them nearly right. */
export function fuzzRequests(document: OpenAPIObject, known: KnownIds): fc.Arbitrary<FuzzRequest> {
  const ids = Object.values(known);
  const operations = Object.entries(document.paths).flatMap(([route, item]) =>
    (['get', 'post', 'put', 'patch', 'delete'] as const).flatMap((method) => {
      const operation = (item as Record<string, object | undefined>)[method];
      return operation ? [{ route, method: method.toUpperCase(), operation }] : [];
    }),
  );
  const parameter = fc.oneof(
    { arbitrary: fc.constantFrom(...ids), weight: 6 },
    { arbitrary: fc.uuid(), weight: 1 },
    { arbitrary: nasty.map((value) => String(JSON.stringify(value))), weight: 2 },
    { arbitrary: fc.string({ maxLength: 30 }), weight: 1 },
  );
  return fc.constantFrom(...operations).chain(({ route, method, operation }) => {
    const names = [...route.matchAll(/\{(\w+)\}/g)].map(([, name]) => name ?? '');
    const { parameters = [] } = operation as { parameters?: { in: string; name: string }[] };
    const asked = parameters.filter((one) => one.in === 'query').map(({ name }) => name);
    const query = fc.dictionary(
      fc.constantFrom(
        'search',
        'limit',
        'from',
        'to',
        'date',
        'until',
        'on',
        'serviceId',
        'staffId',
        'state',
        ...asked,
      ),
      fc.oneof(parameter, fc.constantFrom('2026-06-01', '2026-06-30', '5', '0', 'owed')),
      { maxKeys: 4 },
    );
    const schema = bodyOf(operation);
    const body = schema
      ? valueFor(schema, document, ids, 0)
      : fc.oneof(fc.constant(undefined), fc.constant({}), nasty);
    return fc
      .record({
        path: fc.tuple(...names.map(() => parameter)),
        query,
        payload: body.chain((value) => {
          const text = value === undefined ? undefined : JSON.stringify(value);
          if (text === undefined) return fc.constant(undefined);
          return fc.oneof(
            { arbitrary: fc.constant(text), weight: 9 },
            { arbitrary: broken(text), weight: 1 },
          );
        }),
        type: fc.oneof(
          { arbitrary: fc.constant('application/json'), weight: 12 },
          {
            arbitrary: fc.constantFrom(
              'application/x-www-form-urlencoded',
              'text/plain',
              'multipart/form-data; boundary=x',
              'x',
            ),
            weight: 1,
          },
        ),
      })
      .map(({ path, query: asks, payload, type }): FuzzRequest => {
        const filled = names.reduce(
          (url, name, i) => url.replace(`{${name}}`, encodeURIComponent(wellFormed(String(path[i])))),
          route,
        );
        const search = new URLSearchParams(asks).toString();
        const reads = method === 'GET';
        return {
          method,
          route,
          url: search ? `${filled}?${search}` : filled,
          headers: { ...(!reads && payload !== undefined && { 'content-type': type }) },
          payload: reads ? undefined : payload,
        };
      });
  });
}

/** Half a surrogate pair has no URL encoding. */
function wellFormed(text: string): string {
  return text.replace(/[\ud800-\udfff]/g, '?');
}
