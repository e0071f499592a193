import type { FastifyReply } from 'fastify';
import type { Settings } from '../store/index.js';

/** Who is signed in at this browser. */
export const SESSION_COOKIE = 'halfinch';
/** That this device is a shared desk. */
export const DESK_COOKIE = 'halfinch-desk';

/** Which salon this browser looks at, where there are several; programs say it in a header of this name. */
export const SALON_COOKIE = 'halfinch-salon';

type CookieSettings = Pick<Settings, 'secureCookies'>;

/** With `__Host-` a browser keeps a cookie to this very host, over TLS only, whatever a sibling host tries. */
export function cookieName({ secureCookies }: CookieSettings, name: string): string {
  return secureCookies ? `__Host-${name}` : name;
}

/** What every cookie of ours has in common. */
export function cookieOptions({ secureCookies }: CookieSettings) {
  return { path: '/', httpOnly: true, sameSite: 'lax', secure: secureCookies } as const;
}

/** Gives the browser a token for `seconds`: a span, not a date, because its own clock may be wrong. */
export function giveToken(
  reply: FastifyReply,
  settings: CookieSettings,
  name: string,
  token: string,
  seconds: number,
): void {
  void reply.setCookie(cookieName(settings, name), token, {
    ...cookieOptions(settings),
    maxAge: Math.max(0, Math.floor(seconds)),
  });
}

export function takeToken(reply: FastifyReply, settings: CookieSettings, name: string): void {
  void reply.clearCookie(cookieName(settings, name), cookieOptions(settings));
}
