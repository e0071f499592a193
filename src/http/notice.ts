import type { FastifyReply, FastifyRequest } from 'fastify';
import type { Call } from './call.js';
import { cookieName, cookieOptions } from './cookies.js';

const NOTICE_COOKIE = 'halfinch-notice';
const SECONDS = 60;

/** Leaves words for the next page this browser opens. The cookie is signed: only we can put words on a page. */
export function leaveNotice({ request, reply }: Call, words: string): void {
  void reply.setCookie(cookieName(request.server, NOTICE_COOKIE), Buffer.from(words).toString('base64url'), {
    ...cookieOptions(request.server),
    signed: true,
    maxAge: SECONDS,
  });
}

/** The words left for this page, which are then gone; empty when there are none or the signature is not ours. */
export function takeNotice(request: FastifyRequest, reply: FastifyReply): string {
  const cookie = request.cookies[cookieName(request.server, NOTICE_COOKIE)];
  if (cookie === undefined) return '';
  void reply.clearCookie(cookieName(request.server, NOTICE_COOKIE), cookieOptions(request.server));
  const { valid, value } = request.unsignCookie(cookie);
  return valid && value ? Buffer.from(value, 'base64url').toString() : '';
}
