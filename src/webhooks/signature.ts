import { createHmac, randomBytes } from 'node:crypto';

const PREFIX = 'whsec_';
/** Standard Webhooks asks for 24 to 64 bytes. */
const SECRET_BYTES = 32;

/** 256 random bits as Standard Webhooks writes a secret. */
export function newSecret(): string {
  return PREFIX + randomBytes(SECRET_BYTES).toString('base64');
}

/**
 * "v1,<base64>" for each secret, joined by blanks: HMAC-SHA256 over id, seconds since 1970 and body, joined by full stops
 * (Standard Webhooks, "Signature scheme").
 */
export function signatures(secrets: readonly string[], id: string, seconds: number, body: string): string {
  return secrets
    .map((secret) => {
      const key = Buffer.from(secret.slice(PREFIX.length), 'base64');
      return `v1,${createHmac('sha256', key).update(`${id}.${seconds}.${body}`).digest('base64')}`;
    })
    .join(' ');
}
