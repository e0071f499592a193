import {
  applyDecorators,
  type CallHandler,
  type ExecutionContext,
  type NestInterceptor,
  UseInterceptors,
} from '@nestjs/common';
import { ApiQuery } from '@nestjs/swagger';
import type { FastifyReply, FastifyRequest } from 'fastify';
import { map, type Observable } from 'rxjs';
import { DomainError } from '../base/index.js';
import type { Key, PageAsked } from '../store/index.js';
import { countParam } from './params.js';

const LONGEST_CURSOR = 500;

/** What a part of a key is: a text, or a number. */
export type KeyKind = 'text' | 'number';

/** A list that comes in pages: its name, and what its rows sort by. */
export type PagedList = {
  readonly name: string;
  readonly key: readonly KeyKind[];
  readonly usual: number;
  readonly most: number;
};

export type PageQuery = { readonly cursor?: string; readonly limit?: string };

function refuse(): never {
  const message = 'cursor must be the `next` of the page before, of the same list, or be left out.';
  throw DomainError.invalid('INPUT.INVALID', 'cursor', message);
}

function isKey(value: unknown, kinds: readonly KeyKind[]): value is Key {
  return (
    Array.isArray(value) &&
    value.length === kinds.length &&
    kinds.every((kind, i) =>
      kind === 'number' ? Number.isSafeInteger(value[i]) : typeof value[i] === 'string',
    )
  );
}

/** Reads cursor and limit. Throws INPUT.INVALID naming the parameter. */
export function pageAsked({ name, key, usual, most }: PagedList, { cursor, limit }: PageQuery): PageAsked {
  const count = countParam(limit, 'limit', usual, most);
  if (cursor === undefined || cursor === '') return { limit: count };
  if (typeof cursor !== 'string' || cursor.length > LONGEST_CURSOR || !/^[\w-]+$/.test(cursor)) refuse();
  let read: unknown;
  try {
    read = JSON.parse(Buffer.from(cursor, 'base64url').toString('utf8'));
  } catch {
    refuse();
  }
  if (!Array.isArray(read)) refuse();
  const [list, ...after] = read as unknown[];
  if (list !== name || !isKey(after, key) || after.some((part) => /\p{Surrogate}|\0/u.test(`${part}`)))
    refuse();
  return { limit: count, after };
}

/** What to send as `cursor` for the next page; null after the last. */
export function nextOf({ name }: PagedList, next: Key | null): string | null {
  return next && Buffer.from(JSON.stringify([name, ...next])).toString('base64url');
}

/** Puts the `next` of an answer into a Link header too (RFC 8288). */
class LinkNext implements NestInterceptor {
  intercept(context: ExecutionContext, handler: CallHandler): Observable<unknown> {
    const http = context.switchToHttp();
    const { url } = http.getRequest<FastifyRequest>();
    const reply = http.getResponse<FastifyReply>();
    return handler.handle().pipe(
      map((answer: { readonly next?: string | null }) => {
        if (typeof answer.next === 'string') {
          const target = new URL(url, 'http://here');
          target.searchParams.set('cursor', answer.next);
          void reply.header('link', `<${target.pathname}${target.search}>; rel="next"`);
        }
        return answer;
      }),
    );
  }
}

/** A route that answers with a page of `list`: `next` in the body, and a Link header. */
export const Paged = ({ usual, most }: PagedList) =>
  applyDecorators(
    UseInterceptors(LinkNext),
    ApiQuery({
      name: 'cursor',
      required: false,
      description: 'The `next` of the page before.',
      schema: { type: 'string' },
    }),
    ApiQuery({
      name: 'limit',
      required: false,
      schema: { type: 'integer', minimum: 1, maximum: most, default: usual },
    }),
  );
