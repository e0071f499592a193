import { createHash } from 'node:crypto';
import {
  type CallHandler,
  type ExecutionContext,
  Injectable,
  type NestInterceptor,
  SetMetadata,
} from '@nestjs/common';
import { Reflector } from '@nestjs/core';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { from, lastValueFrom, map, type Observable } from 'rxjs';
import type { EntityManager, EntityTarget, FindOptionsWhere } from 'typeorm';
import { DomainError } from '../base/index.js';
import { type EditableRow, Reader, UnitOfWork } from '../store/index.js';

export const VERSIONED = 'halfinch:versioned';
/** One entity tag of a list (RFC 9110, 8.8.3). */
const TAG = /^(W\/)?"([!#-~\x80-\xff]*)"$/;
const ID = /^[0-9a-f-]{36}$/i;

/** How the thing behind a route is told apart from its other versions. */
type Versioned = {
  /** Version of what `id` names, without quotes; undefined where there is none. */
  readonly current: (manager: EntityManager, id: string) => Promise<string | undefined>;
  /** Version of what an answer shows; undefined where it shows none. */
  readonly shown: (answer: unknown) => string | undefined;
};

function versionIn(answer: unknown, member: string): string | undefined {
  const shown = (answer as Record<string, { readonly version?: unknown } | undefined> | undefined)?.[member];
  return typeof shown?.version === 'number' ? `${shown.version}` : undefined;
}

/**
 * A route about one row that people edit, named by `id` in the address: its answer shows the row as `member` and bears its
 * version as ETag, and If-Match holds a change to that version (RFC 9110, 13.1).
 */
export function HasVersion<T extends EditableRow>(member: string, entity: EntityTarget<T>) {
  const versioned: Versioned = {
    current: async (manager, id) => {
      const row = await manager.findOneBy(entity, { id } as FindOptionsWhere<T>);
      return row ? `${row.version}` : undefined;
    },
    shown: (answer) => versionIn(answer, member),
  };
  return SetMetadata(VERSIONED, versioned);
}

/** The same of something that several rows make up: `parts` are those rows, in their order. */
export function HasVersions<A>(
  parts: (answer: A) => readonly EditableRow[],
  current: (manager: EntityManager, id: string) => Promise<A | undefined>,
) {
  const tagOf = (answer: A) => {
    const versions = parts(answer).map(({ id, version }) => `${id} ${version}`);
    return createHash('sha256').update(versions.join('\n')).digest('base64url').slice(0, 22);
  };
  const versioned: Versioned = {
    current: async (manager, id) => {
      const now = await current(manager, id);
      return now === undefined ? undefined : tagOf(now);
    },
    shown: (answer) => tagOf(answer as A),
  };
  return SetMetadata(VERSIONED, versioned);
}

/** Whether a list of entity tags names this one; weak ones only where `isWeakEnough`. */
export function namesTag(list: string, tag: string, isWeakEnough: boolean): boolean {
  if (list.trim() === '*') return true;
  return list.split(',').some((text) => {
    const [, weak, name] = TAG.exec(text.trim()) ?? [];
    return name === tag && (isWeakEnough || weak === undefined);
  });
}

/** The version that If-Match names, where it names a single one of a row; for inputs that ask for `expectedVersion`. */
export function versionWanted(ifMatch: string | undefined): number | undefined {
  const [, number] = /^"(\d{1,9})"$/.exec(ifMatch?.trim() ?? '') ?? [];
  return number === undefined ? undefined : Number(number);
}

function failed(current: string | undefined): DomainError {
  const message =
    current === undefined
      ? 'If-Match: what this address changes bears no ETag. Leave If-Match out.'
      : 'If-Match: somebody changed this since you read it. Nothing was changed: read it again.';
  return new DomainError('conflict', 'PRECONDITION.FAILED', message, [{ field: 'If-Match', message }], {
    etag: current === undefined ? null : `"${current}"`,
  });
}

/** Answers with an ETag, and refuses what If-Match forbids: looked at in the very unit of work that changes. */
@Injectable()
export class VersionInterceptor implements NestInterceptor {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly reflector: Reflector,
  ) {}

  async intercept(context: ExecutionContext, next: CallHandler): Promise<Observable<unknown>> {
    const http = context.switchToHttp();
    const request = http.getRequest<FastifyRequest>();
    if (!request.url.startsWith('/api/v1/')) return next.handle();
    const versioned = this.reflector.get<Versioned | undefined>(VERSIONED, context.getHandler());
    const reply = http.getResponse<FastifyReply>();
    const tagged = map((answer: unknown) => {
      const tag = versioned?.shown(answer);
      if (tag !== undefined) void reply.header('etag', `"${tag}"`);
      return answer;
    });
    const wanted = request.headers['if-match'];
    const asksNothing =
      wanted === undefined || request.method === 'GET' || (!versioned && wanted.trim() === '*');
    if (asksNothing) return next.handle().pipe(tagged);
    const { id } = request.params as { id?: string };
    // What is no id or names nothing is the route's own to refuse.
    if (versioned && !ID.test(id ?? '')) return next.handle();
    let isHeld = false;
    const hold = async (manager: EntityManager) => {
      if (isHeld) return;
      const current = await versioned?.current(manager, `${id}`.toLowerCase());
      if (current === undefined && versioned) return;
      if (current === undefined || !namesTag(wanted, current, false)) throw failed(current);
    };
    await hold(this.reader.manager);
    const guard = {
      first: hold,
      last: async () => {
        isHeld = true;
      },
    };
    const work = () => lastValueFrom(next.handle().pipe(tagged), { defaultValue: undefined });
    return from(this.units.guarded(guard, work));
  }
}

/** Answers 304 where If-None-Match names what would be sent. */
export function answerUnchanged(fastify: FastifyInstance): void {
  fastify.addHook('onSend', async (request: FastifyRequest, reply: FastifyReply, payload: unknown) => {
    const known = request.headers['if-none-match'];
    const tag = reply.getHeader('etag');
    const isRead = request.method === 'GET' || request.method === 'HEAD';
    if (known === undefined || typeof tag !== 'string' || !isRead || reply.statusCode !== 200) return payload;
    if (!namesTag(known, tag.slice(1, -1), true)) return payload;
    void reply.code(304).removeHeader('content-type').removeHeader('content-length');
    return '';
  });
}
