import { randomBytes } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import fastifyCookie from '@fastify/cookie';
import fastifyCsrf from '@fastify/csrf-protection';
import fastifyHelmet from '@fastify/helmet';
import fastifyRateLimit from '@fastify/rate-limit';
import fastifyStatic from '@fastify/static';
import type { DynamicModule } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { SignIn } from '../identity/index.js';
import type { Settings } from '../store/index.js';
import { ErrorFilter } from './error.filter.js';
import { registerViews } from './view.js';

export const SESSION_COOKIE = 'halfinch';
const BODY_LIMIT_BYTES = 256 * 1024;

/** Folder that holds package.json, from the sources as from dist/. */
export function projectRoot(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(folder, 'package.json'))) folder = dirname(folder);
  return folder;
}

/** Secret that signs the CSRF cookie; made on the first start and kept beside the database. */
function cookieSecret(dataDir: string): string {
  mkdirSync(dataDir, { recursive: true });
  const file = join(dataDir, 'cookie.key');
  if (!existsSync(file)) writeFileSync(file, randomBytes(32).toString('hex'), { mode: 0o600 });
  return readFileSync(file, 'utf8').trim();
}

function bearer(request: FastifyRequest): string | undefined {
  return /^Bearer ([\w-]{20,200})$/.exec(request.headers.authorization ?? '')?.[1];
}

async function registerPlugins(fastify: FastifyInstance, settings: Settings): Promise<void> {
  const root = projectRoot();
  await fastify.register(fastifyHelmet, {
    contentSecurityPolicy: {
      useDefaults: false,
      directives: {
        defaultSrc: ["'none'"],
        scriptSrc: ["'self'"],
        styleSrc: ["'self'"],
        imgSrc: ["'self'", 'data:'],
        connectSrc: ["'self'"],
        formAction: ["'self'"],
        baseUri: ["'none'"],
        frameAncestors: ["'none'"],
        manifestSrc: ["'self'"],
      },
    },
    strictTransportSecurity: settings.secureCookies,
    crossOriginEmbedderPolicy: false,
  });
  await fastify.register(fastifyCookie, { secret: cookieSecret(settings.dataDir) });
  await fastify.register(fastifyCsrf, {
    getToken: (request: FastifyRequest) =>
      (request.body as { _csrf?: string } | undefined)?._csrf ??
      (request.headers['x-csrf-token'] as string | undefined),
    cookieOpts: {
      signed: true,
      path: '/',
      httpOnly: true,
      sameSite: 'lax',
      secure: settings.secureCookies,
    },
  });
  await fastify.register(fastifyRateLimit, {
    global: false,
    max: 600,
    timeWindow: '1 minute',
  });
  await fastify.register(fastifyStatic, {
    root: [join(root, 'templates/assets'), join(root, 'dist/assets')].filter((folder) => existsSync(folder)),
    prefix: '/assets/',
    index: false,
    cacheControl: true,
    maxAge: '1h',
  });
  await registerViews(fastify, join(root, 'templates'), process.env['NODE_ENV'] === 'development');
}

/** Recognises the person, then holds every write that rides on a cookie to its CSRF token. */
function registerHooks(fastify: FastifyInstance, signIn: SignIn): void {
  fastify.addHook('onRequest', async (request: FastifyRequest) => {
    if (request.url.startsWith('/assets/')) return;
    const token = bearer(request) ?? request.cookies[SESSION_COOKIE];
    if (token === undefined) return;
    const principal = await signIn.whoIs(token);
    if (!principal) return;
    request.principal = principal;
    request.sessionToken = token;
  });
  fastify.addHook('preHandler', (request: FastifyRequest, reply: FastifyReply, done) => {
    const reads = request.method === 'GET' || request.method === 'HEAD' || request.method === 'OPTIONS';
    const carriesNoCookie = bearer(request) !== undefined || request.url === '/api/v1/sessions';
    if (reads || carriesNoCookie) return done();
    fastify.csrfProtection(request, reply, done);
  });
  fastify.addHook('preHandler', async (request: FastifyRequest) => {
    const body = request.body as Record<string, unknown> | null | undefined;
    // The token is the transport's business: no room should have to know of it.
    if (body && typeof body === 'object') delete body['_csrf'];
  });
}

/** The web server around the given root module: plugins, hooks and the error answers. Does not listen yet. */
export async function createServer(
  module: DynamicModule,
  settings: Settings,
): Promise<NestFastifyApplication> {
  const adapter = new FastifyAdapter({ bodyLimit: BODY_LIMIT_BYTES, routerOptions: { maxParamLength: 200 } });
  const app = await NestFactory.create<NestFastifyApplication>(module, adapter, {
    logger: settings.logLevel === 'silent' ? false : ['log', 'warn', 'error'],
    abortOnError: false,
  });
  const fastify = adapter.getInstance() as unknown as FastifyInstance;
  await registerPlugins(fastify, settings);
  registerHooks(fastify, app.get(SignIn));
  app.useGlobalFilters(new ErrorFilter());
  app.enableShutdownHooks();
  return app;
}
