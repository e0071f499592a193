import { randomUUID } from 'node:crypto';
import { existsSync } from 'node:fs';
import type { IncomingHttpHeaders } from 'node:http';
import type { Socket } from 'node:net';
import { join } from 'node:path';
import fastifyCookie from '@fastify/cookie';
import fastifyCsrf from '@fastify/csrf-protection';
import fastifyHelmet from '@fastify/helmet';
import fastifyRateLimit from '@fastify/rate-limit';
import fastifyStatic from '@fastify/static';
import { type DynamicModule, Logger } from '@nestjs/common';
import { NestFactory } from '@nestjs/core';
import { FastifyAdapter, type NestFastifyApplication } from '@nestjs/platform-fastify';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { projectRoot } from '../base/index.js';
import { SalonFence } from '../clients/index.js';
import { SignIn } from '../identity/index.js';
import { Salons } from '../salon/index.js';
import { RequestKeys, type Settings, Shared, secretFor } from '../store/index.js';
import { joinAccountMail } from './account-mail.js';
import { isByItself } from './by-itself.js';
import { registerCompression } from './compression.js';
import { cookieName, cookieOptions, SALON_COOKIE, SESSION_COOKIE } from './cookies.js';
import { ErrorFilter } from './error.filter.js';
import { registerFence } from './fence.js';
import { keepAnswers } from './idempotency.js';
import { Metrics } from './metrics.js';
import { problemOf } from './problem.js';
import { problemType } from './problem-types.js';
import { rateLimits } from './rate-limits.js';
import { requireReadable } from './readable.js';
import { RedactingLogger } from './redact.js';
import { requireNeeds } from './routes.js';
import { answerUnchanged } from './versions.js';
import { registerViews } from './view.js';

declare module 'fastify' {
  interface FastifyInstance {
    /** Every route there is, Nest's and the plugins': "GET /clients/:id". */
    routesServed: string[];
    /** Whether cookies go over TLS only. */
    secureCookies: boolean;
    /** Where people and programs reach us, without a slash at the end. */
    publicUrl: string;
  }
}

const PROXYS_ID = /^[\w.-]{8,64}$/;
const BODY_LIMIT_BYTES = 256 * 1024;
/** Carries its own proof and acts for nobody's session: links in messages, calls that are signed. */
const CARRIES_ITS_PROOF = /^\/(unsubscribe|a|n|o|api\/v1\/(texts|mails))\//;
/** A connection without a request for so long was opened ahead of need. */
const UNUSED_MS = 2_000;
const ONE_YEAR_SECONDS = 31_536_000;

function bearer(request: FastifyRequest): string | undefined {
  return /^Bearer ([\w-]{20,200})$/.exec(request.headers.authorization ?? '')?.[1];
}

function isApi(request: FastifyRequest): boolean {
  return request.url.startsWith('/api/');
}

/**
 * The token is checked before a form with a file is read, so it cannot lie in that form: it stands in its address. No
 * other kind of request may bring it there.
 */
function csrfToken(request: FastifyRequest): string | undefined {
  const isMultipart = /^multipart\/form-data\b/i.test(request.headers['content-type'] ?? '');
  if (isMultipart) {
    const { _csrf } = request.query as { _csrf?: unknown };
    if (typeof _csrf === 'string') return _csrf;
  }
  const body = request.body as { _csrf?: string } | null | undefined;
  return body?._csrf ?? (request.headers['x-csrf-token'] as string | undefined);
}

async function registerPlugins(
  fastify: FastifyInstance,
  settings: Settings,
  { redis }: Shared,
): Promise<void> {
  const root = projectRoot();
  await registerCompression(fastify);
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
        objectSrc: ["'none'"],
        manifestSrc: ["'self'"],
      },
    },
    strictTransportSecurity: settings.secureCookies
      ? { maxAge: ONE_YEAR_SECONDS, includeSubDomains: true }
      : false,
    crossOriginEmbedderPolicy: false,
  });
  await fastify.register(fastifyCookie, { secret: secretFor(settings, 'cookies') });
  await fastify.register(fastifyCsrf, {
    getToken: csrfToken,
    cookieKey: cookieName(settings, '_csrf'),
    cookieOpts: { ...cookieOptions(settings), signed: true },
  });
  await fastify.register(fastifyRateLimit, {
    global: false,
    // While Redis is away nobody is counted rather than everybody refused.
    ...(redis && { redis, nameSpace: 'halfinch:requests:', skipOnError: true }),
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

/** Helmet's headers come from its plugin; these are ours. Answers are nobody's to keep unless they say otherwise. */
function registerHeaders(fastify: FastifyInstance): void {
  let isStopping = false;
  fastify.addHook('preClose', async () => {
    isStopping = true;
  });
  fastify.addHook('onSend', async (request: FastifyRequest, reply: FastifyReply) => {
    void reply.header(
      'permissions-policy',
      'camera=(self), microphone=(), geolocation=(), payment=(), usb=()',
    );
    void reply.header('x-request-id', request.id);
    // Kept alive, the connection of a request that had begun would hold the server up until it times out.
    if (isStopping) void reply.header('connection', 'close');
    if (!reply.hasHeader('cache-control')) void reply.header('cache-control', 'no-store');
  });
}

/** Recognises the person, and holds strangers and programs to a number of requests a minute. */
function registerWho(fastify: FastifyInstance, signIn: SignIn, settings: Settings): void {
  const sessionCookie = cookieName(settings, SESSION_COOKIE);
  const salonCookie = cookieName(settings, SALON_COOKIE);
  const counts = rateLimits(fastify, settings);
  fastify.addHook('onRequest', async (request: FastifyRequest, reply: FastifyReply) => {
    // Who looks after the process asks all day, from one address.
    if (/^\/(assets|health)\//.test(request.url)) return;
    const token = bearer(request) ?? request.cookies[sessionCookie];
    const principal = token === undefined ? undefined : await signIn.whoIs(token, !isByItself(request));
    if (principal && token !== undefined) {
      const salonId = request.headers[SALON_COOKIE] ?? request.cookies[salonCookie];
      request.principal = { ...principal, ...(typeof salonId === 'string' && { salonId }) };
      request.sessionToken = token;
    }
    await counts(request, reply);
  });
}

/** Holds every write that rides on a cookie to its CSRF token. */
function registerCsrf(fastify: FastifyInstance): void {
  fastify.addHook('preHandler', (request: FastifyRequest, reply: FastifyReply, done) => {
    const reads = request.method === 'GET' || request.method === 'HEAD' || request.method === 'OPTIONS';
    // Without a cookie that was recognised the API has nobody's authority to abuse: the guard answers.
    const ridesOnNothing = bearer(request) !== undefined || (isApi(request) && !request.principal);
    if (reads || ridesOnNothing || CARRIES_ITS_PROOF.test(request.url)) return done();
    fastify.csrfProtection(request, reply, done);
  });
  fastify.addHook('preHandler', async (request: FastifyRequest) => {
    const body = request.body as Record<string, unknown> | null | undefined;
    // The token is the transport's business: no room should have to know of it.
    if (body && typeof body === 'object') delete body['_csrf'];
    requireReadable(body);
  });
}

/**
 * Browsers open connections ahead of need. Node waits a minute for one that never carried a request, and with it would
 * a server that is to stop. A young one may have its request on the way: that is waited for.
 */
function dropUnused(fastify: FastifyInstance): void {
  const open = new Map<Socket, number>();
  let isClosing = false;
  const dropWhenOld = (socket: Socket, openedAt: number): void => {
    const drop = () => socket.bytesRead === 0 && socket.destroy();
    setTimeout(drop, Math.max(0, openedAt + UNUSED_MS - Date.now()));
  };
  fastify.server.on('connection', (socket: Socket) => {
    open.set(socket, Date.now());
    socket.once('close', () => open.delete(socket));
    if (isClosing) dropWhenOld(socket, Date.now());
  });
  fastify.addHook('preClose', async () => {
    isClosing = true;
    for (const [socket, openedAt] of open) dropWhenOld(socket, openedAt);
  });
}

/** Answers what Fastify refuses before any hook or route, such as an address that is no address. */
function refuseEarly({ publicUrl }: Settings, error: Error, reply: FastifyReply): void {
  const { status, title, detail, code } = problemOf(error);
  const early = status >= 500 ? 400 : status;
  void reply
    .status(early)
    .header('content-type', 'application/problem+json; charset=utf-8')
    .header('content-security-policy', "default-src 'none'; frame-ancestors 'none'")
    .header('x-content-type-options', 'nosniff')
    .header('referrer-policy', 'no-referrer')
    .header('cache-control', 'no-store')
    .send({ type: problemType(publicUrl, code), title, status: early, detail, code, fields: [] });
}

/** A proxy's id of the request where its word is taken, so that both logs can be laid side by side; else a fresh one. */
function requestIdOf(headers: IncomingHttpHeaders, { trustProxy }: Settings): string {
  const given = headers['x-request-id'];
  return trustProxy !== undefined && typeof given === 'string' && PROXYS_ID.test(given)
    ? given
    : randomUUID();
}

/** One line a request: never its address, which may be a client's secret, but the pattern of its route. */
function logRequests(fastify: FastifyInstance): void {
  const log = new Logger('request');
  fastify.addHook('onResponse', async (request: FastifyRequest, reply: FastifyReply) => {
    const route = request.routeOptions.url ?? '?';
    log.log(
      `${request.id} ${request.method} ${route} ${reply.statusCode} ${Math.round(reply.elapsedTime)} ms`,
    );
  });
}

/**
 * The web server around the given root module: plugins, hooks and the error answers. Does not listen yet. Throws when
 * a route does not say what it needs.
 */
export async function createServer(
  module: DynamicModule,
  settings: Settings,
): Promise<NestFastifyApplication> {
  const adapter = new FastifyAdapter({
    bodyLimit: BODY_LIMIT_BYTES,
    routerOptions: { maxParamLength: 200 },
    ...(settings.trustProxy && { trustProxy: settings.trustProxy }),
    frameworkErrors: (error: Error, _request: unknown, reply: FastifyReply) =>
      refuseEarly(settings, error, reply),
    genReqId: ({ headers }: { headers: IncomingHttpHeaders }) => requestIdOf(headers, settings),
    // A request whose connection was taken is answered, even where the server was told to stop in between.
    return503OnClosing: false,
  });
  const app = await NestFactory.create<NestFastifyApplication>(module, adapter, {
    logger:
      settings.logLevel === 'silent'
        ? false
        : new RedactingLogger({ logLevels: ['log', 'warn', 'error'], json: settings.logAsJson }),
    abortOnError: false,
  });
  requireNeeds(app);
  const fastify = adapter.getInstance() as unknown as FastifyInstance;
  fastify.decorate('routesServed', []);
  fastify.decorate('secureCookies', settings.secureCookies);
  fastify.decorate('publicUrl', settings.publicUrl);
  fastify.addHook('onRoute', ({ method, url }) => {
    for (const one of [method].flat()) fastify.routesServed.push(`${one} ${url}`);
  });
  dropUnused(fastify);
  app.get(Metrics, { strict: false }).watch(fastify);
  if (settings.logRequests) logRequests(fastify);
  registerHeaders(fastify);
  answerUnchanged(fastify);
  keepAnswers(fastify, app.get(RequestKeys));
  await registerPlugins(fastify, settings, app.get(Shared));
  registerWho(fastify, app.get(SignIn), settings);
  registerCsrf(fastify);
  registerFence(fastify, app.get(Salons, { strict: false }), app.get(SalonFence, { strict: false }));
  joinAccountMail(app, settings);
  app.useGlobalFilters(new ErrorFilter());
  app.enableShutdownHooks();
  return app;
}
