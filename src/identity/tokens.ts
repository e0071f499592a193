import { createHash, randomBytes } from 'node:crypto';

const TOKEN_BYTES = 32;

/** 256 random bits, fit for a cookie, a header or a link. */
export function newToken(prefix = ''): string {
  return prefix + randomBytes(TOKEN_BYTES).toString('base64url');
}

/** What is kept of a token. A plain hash is enough: nobody can guess 256 random bits. */
export function tokenHash(token: string): string {
  return createHash('sha256').update(token).digest('hex');
}
