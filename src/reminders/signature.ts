import { createHmac, timingSafeEqual } from 'node:crypto';
import { DomainError } from '../base/index.js';

const STALE_S = 300;

function mac(secret: string, seconds: number, signed: readonly string[]): Buffer {
  return createHmac('sha256', secret)
    .update([`${seconds}`, ...signed].join('\n'))
    .digest();
}

/**
 * "t=<seconds since 1970>,v1=<hex>": HMAC-SHA256 (RFC 2104) over the seconds and the signed values, joined by
 * line feeds. What goes out signs the whole body; what comes in signs the values named in DEVELOPERS.md.
 */
export function signature(secret: string, now: number, signed: readonly string[]): string {
  const seconds = Math.floor(now / 1000);
  return `t=${seconds},v1=${mac(secret, seconds, signed).toString('hex')}`;
}

/** Whether the header is ours for these values and not older (or newer) than five minutes. */
function isSigned(secret: string, now: number, signed: readonly string[], header: unknown): boolean {
  const [, t, v1] = typeof header === 'string' ? (/^t=(\d{1,12}),v1=([0-9a-f]{64})$/.exec(header) ?? []) : [];
  if (t === undefined || v1 === undefined) return false;
  if (Math.abs(now / 1000 - Number(t)) > STALE_S) return false;
  return timingSafeEqual(mac(secret, Number(t), signed), Buffer.from(v1, 'hex'));
}

type Signed = {
  readonly secret: string | undefined;
  readonly now: number;
  /** Where it stands in the request. */
  readonly header: unknown;
  /** Names of the values it was made over. */
  readonly names: readonly string[];
};

/** What came in, if it was signed; throws `<what>.SIGNATURE` unless it was made with the secret of this name. */
export function requireSigned(
  input: unknown,
  { secret, now, header, names }: Signed,
  told: { readonly what: 'TEXT' | 'MAIL'; readonly secretName: string },
): void {
  // What is no text was never signed; turning it into text could run its own toString.
  const values = names.map((name) => {
    const value: unknown = (input as Readonly<Record<string, unknown>> | null)?.[name];
    return typeof value === 'string' ? value : '';
  });
  if (secret !== undefined && isSigned(secret, now, values, header)) return;
  throw new DomainError(
    'forbidden',
    `${told.what}.SIGNATURE`,
    `The X-Halfinch-Signature is missing, older than five minutes or not made with ${told.secretName}.`,
  );
}
