import { applyDecorators } from '@nestjs/common';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import {
  ApiBearerAuth,
  ApiBody,
  ApiDefaultResponse,
  ApiTags,
  DocumentBuilder,
  type OpenAPIObject,
  SwaggerModule,
} from '@nestjs/swagger';
import { defaultMetadataStorage } from 'class-transformer/cjs/storage.js';
import { validationMetadatasToSchemas } from 'class-validator-jsonschema';

const COMPONENTS = '#/components/schemas/';

const PROBLEM = {
  type: 'object',
  description: 'RFC 9457 problem details. `code` is stable; `fields` names what to correct.',
  required: ['type', 'title', 'status', 'detail', 'code', 'fields'],
  properties: {
    type: { type: 'string', format: 'uri' },
    title: { type: 'string' },
    status: { type: 'integer' },
    detail: { type: 'string' },
    code: { type: 'string' },
    fields: {
      type: 'array',
      items: {
        type: 'object',
        required: ['field', 'message'],
        properties: { field: { type: 'string' }, message: { type: 'string' } },
      },
    },
  },
} as const;

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

/** The document, with schemas derived from the very rules that check the input. */
function describe(app: NestFastifyApplication): OpenAPIObject {
  const config = new DocumentBuilder()
    .setTitle('Halfinch API')
    .setVersion('1')
    .setOpenAPIVersion('3.1.0')
    .setDescription(
      'Lengths in millimetres, instants in milliseconds since 1970 (UTC), dates YYYY-MM-DD, money in the smallest coin. ' +
        'POST /api/v1/sessions gives the token to send as `Authorization: Bearer <token>`.',
    )
    .addBearerAuth()
    .build();
  const document = SwaggerModule.createDocument(app, config);
  const paths = Object.entries(document.paths).filter(([path]) => path.startsWith('/api/v1/'));
  const schemas = validationMetadatasToSchemas({
    classTransformerMetadataStorage: defaultMetadataStorage,
    refPointerPrefix: COMPONENTS,
    additionalConverters: OWN_CHECKS,
  });
  return {
    ...document,
    paths: Object.fromEntries(paths),
    components: {
      ...document.components,
      schemas: {
        ...(schemas as NonNullable<OpenAPIObject['components']>['schemas']),
        Problem: PROBLEM as never,
      },
    },
  };
}

/** Serves the description at /api/docs (pages) and /api/docs-json. */
export function serveApiDescription(app: NestFastifyApplication): OpenAPIObject {
  const document = describe(app);
  SwaggerModule.setup('api/docs', app, document, { jsonDocumentUrl: 'api/docs-json' });
  return document;
}
