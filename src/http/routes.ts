import { type INestApplicationContext, RequestMethod } from '@nestjs/common';
import { METHOD_METADATA, PATH_METADATA } from '@nestjs/common/constants.js';
import { MetadataScanner, ModulesContainer, Reflector } from '@nestjs/core';
import type { Action } from '../identity/index.js';
import { NEEDS, OPEN } from './context.js';
import { WITHOUT_KEY } from './idempotency.js';
import { VERSIONED } from './versions.js';

/** A route as its controller declares it. */
export type DeclaredRoute = {
  readonly method: string;
  /** With its parameters by name: /clients/:id. */
  readonly path: string;
  /** Action it needs, 'open', or undefined where nobody thought of it. */
  readonly need: Action | typeof OPEN | undefined;
  /** Whether it keeps what it answered under an Idempotency-Key. */
  readonly takesKey: boolean;
  /** Whether it answers with an ETag and hears If-Match. */
  readonly hasVersion: boolean;
  /** Controller and method, for whoever must go and put it right. */
  readonly handler: string;
};

function joined(...parts: string[]): string {
  const path = parts
    .flatMap((part) => part.split('/'))
    .filter(Boolean)
    .join('/');
  return `/${path}`;
}

function paths(metadata: unknown): string[] {
  const values: unknown[] = Array.isArray(metadata) ? metadata : [metadata];
  return values.map((value) => (typeof value === 'string' ? value : ''));
}

/** Every route of every controller, with what it needs. */
export function declaredRoutes(app: INestApplicationContext): DeclaredRoute[] {
  const reflector = app.get(Reflector);
  const scanner = new MetadataScanner();
  const routes: DeclaredRoute[] = [];
  for (const { controllers } of app.get(ModulesContainer).values()) {
    for (const { metatype } of controllers.values()) {
      if (typeof metatype !== 'function') continue;
      const prototype = metatype.prototype as Record<string, unknown>;
      for (const name of scanner.getAllMethodNames(prototype)) {
        const handler = prototype[name];
        if (typeof handler !== 'function') continue;
        const method = Reflect.getMetadata(METHOD_METADATA, handler) as RequestMethod | undefined;
        if (method === undefined) continue;
        const isWithoutKey = reflector.getAllAndOverride<true | undefined>(WITHOUT_KEY, [handler, metatype]);
        const need = reflector.getAllAndOverride<DeclaredRoute['need']>(NEEDS, [handler, metatype]);
        for (const start of paths(Reflect.getMetadata(PATH_METADATA, metatype))) {
          for (const end of paths(Reflect.getMetadata(PATH_METADATA, handler))) {
            routes.push({
              method: RequestMethod[method] ?? 'ALL',
              path: joined(start, end),
              need,
              takesKey: method !== RequestMethod.GET && !isWithoutKey,
              hasVersion: Reflect.hasMetadata(VERSIONED, handler),
              handler: `${metatype.name}.${name}`,
            });
          }
        }
      }
    }
  }
  return routes;
}

/** Throws naming every route that declares no need: better no start than a door that nobody thought of. */
export function requireNeeds(app: INestApplicationContext): void {
  const bare = declaredRoutes(app).filter(({ need }) => need === undefined);
  if (bare.length > 0) {
    const list = bare.map(({ method, path, handler }) => `${method} ${path} (${handler})`).join(', ');
    throw new Error(`These routes say neither @Needs(action) nor @Open(): ${list}`);
  }
}
