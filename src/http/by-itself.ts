import type { FastifyRequest } from 'fastify';

/** What an open page asks without anybody's doing, to show the newest; it must not keep a session alive. */
export function isByItself({ headers }: FastifyRequest): boolean {
  return headers['x-by-itself'] !== undefined || headers.accept === 'text/event-stream';
}
