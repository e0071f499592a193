import {
  type CallHandler,
  type ExecutionContext,
  Injectable,
  Logger,
  type NestInterceptor,
  SetMetadata,
} from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { from, lastValueFrom, type Observable } from 'rxjs';
import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import { changedSince, lastAuditNumber } from '../identity/index.js';
import { type KeptAnswer, KeyInHand, RequestKeys, UnitOfWork } from '../store/index.js';

declare module 'fastify' {
  interface FastifyRequest {
    /** Of a request that bears a key and is being carried out. */
    keyInHand?: KeyInHand;
  }
}

export const WITHOUT_KEY = 'halfinch:without-key';
const HEADER = 'idempotency-key';
/** As RFC 8941 writes a string, or the same without its quotes. */
const KEY = /^(?:"((?:[ !#-[\]-~]|\\["\\])+)"|([!#-~]+))$/;
const LONGEST_KEY = 255;
/** What is worth sending again besides the body. */
const KEPT_HEADERS = ['content-type', 'etag', 'location'] as const;
/** Refusals that are the verdict on the request; others may be different the next time. */
const VERDICTS = new Set([404, 409, 410, 422]);

/** A route whose answer must not be kept, or need not be: it takes no Idempotency-Key. */
export const WithoutKey = () => SetMetadata(WITHOUT_KEY, true);

/** An answer that was given before; the error filter sends it. */
export class GivenBefore extends Error {
  constructor(readonly answer: KeptAnswer) {
    super('This was answered before.');
  }
}

/** The key of a request, without quotes; undefined where it has none. Throws IDEMPOTENCY.KEY_INVALID. */
export function keyOf(header: string | string[] | undefined): string | undefined {
  if (header === undefined) return undefined;
  const match = typeof header === 'string' ? KEY.exec(header.trim()) : null;
  const key = match?.[1]?.replaceAll(/\\(["\\])/g, '$1') ?? match?.[2];
  if (key !== undefined && key.length <= LONGEST_KEY) return key;
  const message = `Idempotency-Key: send one key of up to ${LONGEST_KEY} visible ASCII characters, such as a UUID.`;
  throw DomainError.invalid('IDEMPOTENCY.KEY_INVALID', 'Idempotency-Key', message);
}

/** Whose keys they are: an account by one way in; on open routes whoever knows the secret in the address. */
function askerOf({ principal, url }: FastifyRequest): string {
  return principal ? `${principal.accountId} ${principal.role} ${principal.via}` : `open ${url}`;
}

function askedOf({ method, url, principal, body }: FastifyRequest): string {
  return JSON.stringify([method, url, principal?.salonId ?? null, body ?? null]);
}

function requireKeyTaken(request: FastifyRequest, isWithoutKey: boolean): void {
  const isForm = /^multipart\//i.test(request.headers['content-type'] ?? '');
  if (!isWithoutKey && !isForm) return;
  const message = 'Idempotency-Key: this address takes none, because its answer is not kept. Leave it out.';
  throw DomainError.invalid('IDEMPOTENCY.NOT_HERE', 'Idempotency-Key', message);
}

/**
 * Carries a request of API v1 that bears an Idempotency-Key (draft-ietf-httpapi-idempotency-key-header) out once, and
 * answers its repetitions with the first answer. Comes after the guard and before everything else.
 */
@Injectable()
export class IdempotencyInterceptor implements NestInterceptor {
  constructor(
    private readonly keys: RequestKeys,
    private readonly units: UnitOfWork,
    private readonly reflector: Reflector,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    const request = context.switchToHttp().getRequest<FastifyRequest>();
    const isUnsafe = !['GET', 'HEAD', 'OPTIONS'].includes(request.method);
    const key = request.url.startsWith('/api/v1/') && isUnsafe ? keyOf(request.headers[HEADER]) : undefined;
    if (key === undefined) return next.handle();
    requireKeyTaken(
      request,
      this.reflector.getAllAndOverride<boolean | undefined>(WITHOUT_KEY, [
        context.getHandler(),
        context.getClass(),
      ]) === true,
    );
    const claim = await this.keys.claim(askerOf(request), key, askedOf(request));
    if (!(claim instanceof KeyInHand)) throw new GivenBefore(claim);
    request.keyInHand = claim;
    let before = 0;
    const guard = {
      first: async (manager: EntityManager) => {
        before = await lastAuditNumber(manager);
      },
      last: async (manager: EntityManager) => claim.mark(manager, await changedSince(manager, before)),
    };
    return from(this.units.guarded(guard, () => lastValueFrom(next.handle(), { defaultValue: undefined })));
  }
}

/** Keeps the answers of keyed requests, just before they are sent. */
export function keepAnswers(fastify: FastifyInstance, keys: RequestKeys): void {
  const log = new Logger('idempotency');
  fastify.addHook('onSend', async (request: FastifyRequest, reply: FastifyReply, payload: unknown) => {
    const { keyInHand: key } = request;
    if (!key) return;
    delete request.keyInHand;
    key.close();
    const { statusCode: status } = reply;
    const isKept =
      (status < 300 || VERDICTS.has(status)) &&
      (payload === undefined || payload === null || typeof payload === 'string');
    const headers = KEPT_HEADERS.flatMap((name) => {
      const value = reply.getHeader(name);
      return value === undefined ? [] : [[name, String(value)] as const];
    });
    try {
      if (isKept) await keys.keep(key, { status, headers: Object.fromEntries(headers), body: payload ?? '' });
      else await keys.letGo(key);
    } catch (error) {
      // What was done is done: the repetition will be told so.
      log.error(`${request.id} The answer could not be kept.`, (error as Error).stack);
    }
  });
}
