import { applyDecorators } from '@nestjs/common';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import {
  ApiBearerAuth,
  ApiBody,
  ApiDefaultResponse,
  ApiOkResponse,
  ApiQuery,
  ApiTags,
  DocumentBuilder,
  type OpenAPIObject,
  SwaggerModule,
} from '@nestjs/swagger';
import { defaultMetadataStorage } from 'class-transformer/cjs/storage.js';
import { validationMetadatasToSchemas } from 'class-validator-jsonschema';
import { PROBLEM_TYPES } from '../http/index.js';
import { describeAnswers, readAnswers, type Schemas } from './answers.js';
import { addExamples } from './examples.js';

const COMPONENTS = '#/components/schemas/';

const ABOUT =
  'Lengths in millimetres, instants in milliseconds since 1970 (UTC), dates YYYY-MM-DD, money in the smallest coin. ' +
  'POST /api/v1/sessions gives the token to send as `Authorization: Bearer <token>`. Lists come in pages: `next` is the ' +
  '`cursor` of the next one and stands in a Link header too (RFC 8288). Answers about one record bear an ETag, and changes ' +
  'hear If-Match (RFC 9110). What is sent again with the same Idempotency-Key within a day is done once. RateLimit and ' +
  'RateLimit-Policy say what may be asked in a minute.';

const CODES = `Stable. What each means:\n\n${[...PROBLEM_TYPES].map(([code, meaning]) => `- \`${code}\`: ${meaning}`).join('\n')}`;

const PROBLEM = {
  type: 'object',
  description:
    'RFC 9457 problem details. `type` is an address that says what the code means; `fields` names what to correct.',
  required: ['type', 'title', 'status', 'detail', 'code', 'fields'],
  properties: {
    type: { type: 'string', format: 'uri' },
    title: { type: 'string' },
    status: { type: 'integer' },
    detail: { type: 'string' },
    code: { type: 'string', enum: [...PROBLEM_TYPES.keys()], description: CODES },
    fields: {
      type: 'array',
      items: {
        type: 'object',
        required: ['field', 'message'],
        properties: { field: { type: 'string' }, message: { type: 'string' } },
      },
    },
  },
};

/** How our own checks read as JSON Schema; without this they would refer to a schema that nobody wrote. */
const OWN_CHECKS = {
  isDateText: { type: 'string', format: 'date' },
  isTime: { type: 'string', pattern: '^([01][0-9]|2[0-3]):[0-5][0-9]$' },
  isLanguage: { type: 'string', description: 'A BCP 47 tag such as en-GB' },
  isZoneName: { type: 'string', description: 'A zone of the IANA database such as Europe/London' },
  isWritableLocale: { type: 'string', description: 'A BCP 47 tag such as en-GB' },
} as const;

/** Marks a controller of API v1: its tag, the bearer token and the shape of its errors. */
export const ApiPart = (tag: string) =>
  applyDecorators(
    ApiTags(tag),
    ApiBearerAuth(),
    ApiDefaultResponse({
      description: 'A problem',
      content: { 'application/problem+json': { schema: { $ref: `${COMPONENTS}Problem` } } },
    }),
  );

/** Describes the body by the class that checks it; the room itself does the checking. */
export const Takes = (input: { readonly name: string }) =>
  ApiBody({ schema: { $ref: `${COMPONENTS}${input.name}` } });

/** Parameters of the address that a handler takes as one object; all of them may be left out. */
export const Asks = (...names: readonly string[]) =>
  applyDecorators(...names.map((name) => ApiQuery({ name, required: false, schema: { type: 'string' } })));

/** A route that answers with something else than JSON. */
export const Sends = (type: string) =>
  ApiOkResponse({ description: '', content: { [type]: { schema: { type: 'string' } } } });

/** The document, with schemas derived from the very rules that check the input, and from what the handlers return. */
function describe(app: NestFastifyApplication): OpenAPIObject {
  const config = new DocumentBuilder()
    .setTitle('Halfinch API')
    .setVersion('1')
    .setOpenAPIVersion('3.1.0')
    .setDescription(ABOUT)
    .addBearerAuth()
    .build();
  const document = SwaggerModule.createDocument(app, config);
  const paths = Object.entries(document.paths).filter(([path]) => path.startsWith('/api/v1/'));
  const schemas = validationMetadatasToSchemas({
    classTransformerMetadataStorage: defaultMetadataStorage,
    refPointerPrefix: COMPONENTS,
    additionalConverters: OWN_CHECKS,
  });
  const { answers, definitions } = readAnswers();
  describeAnswers(app, paths, answers);
  addExamples(Object.fromEntries(paths));
  return {
    ...document,
    paths: Object.fromEntries(paths),
    components: {
      ...document.components,
      schemas: {
        ...definitions,
        ...(schemas as Schemas),
        Problem: PROBLEM as never,
      },
    },
  };
}

/**
 * Serves the description at /api/docs (pages) and /api/docs-json; it is made when somebody first asks for it, there or by
 * what is returned.
 */
export function serveApiDescription(app: NestFastifyApplication): () => OpenAPIObject {
  let made: OpenAPIObject | undefined;
  const description = () => {
    made ??= describe(app);
    return made;
  };
  SwaggerModule.setup('api/docs', app, description, { jsonDocumentUrl: 'api/docs-json' });
  return description;
}
