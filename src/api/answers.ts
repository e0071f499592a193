import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { NestFastifyApplication } from '@nestjs/platform-fastify';
import type { OpenAPIObject } from '@nestjs/swagger';
import { projectRoot } from '../base/index.js';
import { declaredRoutes } from '../http/index.js';

export type Schemas = NonNullable<NonNullable<OpenAPIObject['components']>['schemas']>;
type Schema = Schemas[string];
type PathItem = OpenAPIObject['paths'][string];
type Operation = NonNullable<PathItem['get']>;

const METHODS = ['get', 'post', 'put', 'patch', 'delete'] as const;

const KEY: NonNullable<Operation['parameters']>[number] = {
  name: 'Idempotency-Key',
  in: 'header',
  required: false,
  description:
    'A key of the asker’s own, such as a UUID: sent again with it, the request is answered as it was and not done twice.',
  schema: { type: 'string', maxLength: 255 },
};

const VERSION: NonNullable<Operation['parameters']>[number] = {
  name: 'If-Match',
  in: 'header',
  required: false,
  description: 'The ETag that was read: 412 where somebody changed it since.',
  schema: { type: 'string' },
};

const inPath = (name: string): typeof KEY => ({
  name,
  in: 'path',
  required: true,
  schema: { type: 'string' },
});

/** What `npm run answers` took from the handlers' types: by operation, and the schemas that these refer to. */
export function readAnswers(): { answers: Readonly<Record<string, Schema>>; definitions: Schemas } {
  return JSON.parse(readFileSync(join(projectRoot(), 'templates/api-answers.json'), 'utf8'));
}

/** Gives every operation the schema of its answer and the headers that it hears. */
export function describeAnswers(
  app: NestFastifyApplication,
  paths: readonly (readonly [string, PathItem])[],
  answers: Readonly<Record<string, Schema>>,
): void {
  const routes = new Map(declaredRoutes(app).map((route) => [route.handler.replace('.', '_'), route]));
  for (const [path, item] of paths) {
    for (const method of METHODS) {
      const operation = item[method];
      const route = routes.get(operation?.operationId ?? '');
      if (!operation || !route) continue;
      const schema = answers[operation.operationId ?? ''];
      for (const [status, answer] of Object.entries(operation.responses)) {
        if (!/^2/.test(status) || !schema || !answer || '$ref' in answer) continue;
        answer.content = { 'application/json': { schema } };
        if (route.hasVersion) answer.headers = { ETag: { schema: { type: 'string' } } };
      }
      const isForm =
        operation.requestBody &&
        'multipart/form-data' in ((operation.requestBody as { content?: object }).content ?? {});
      const heard = [
        ...(route.takesKey && !isForm ? [KEY] : []),
        ...(route.hasVersion && method !== 'get' && path.includes('{id}') ? [VERSION] : []),
      ];
      const given = (operation.parameters ?? []).map((parameter) =>
        // Whatever an address asks for may be left out or is missed by name.
        'in' in parameter && parameter.in === 'query' ? { ...parameter, required: false } : parameter,
      );
      const named = new Set(given.map((parameter) => ('name' in parameter ? parameter.name : '')));
      const lacking = [...path.matchAll(/\{(\w+)\}/g)]
        .map(([, name]) => `${name}`)
        .filter((name) => !named.has(name));
      operation.parameters = [...given, ...lacking.map(inPath), ...heard];
    }
  }
}
