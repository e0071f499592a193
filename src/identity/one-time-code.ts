import { Secret, TOTP } from 'otpauth';

const STEP_MS = 30_000;
/** RFC 4226 section 4, R6: at least 128 bits, 160 recommended. */
const SECRET_BYTES = 20;
/** RFC 6238 5.2 recommends at most one step of delay. */
const STEPS_EITHER_WAY = 1;

/** A new secret in base32, as authenticator programs take it. */
export function newCodeSecret(): string {
  return new Secret({ size: SECRET_BYTES }).base32;
}

/**
 * The 30-second step (RFC 6238, SHA-1, six digits) that `code` is right for at `now`, or undefined when it is wrong.
 * A code of the step before or after counts. `newest` is the last step taken: it and earlier ones are spent.
 */
export function codeStep(
  secret: string,
  code: string,
  now: number,
  newest: number | null,
): number | undefined {
  const digits = code.replace(/\s/g, '');
  if (!/^\d{6}$/.test(digits)) return undefined;
  const delta = TOTP.validate({
    token: digits,
    secret: Secret.fromBase32(secret),
    timestamp: now,
    window: STEPS_EITHER_WAY,
  });
  if (delta === null) return undefined;
  const step = Math.floor(now / STEP_MS) + delta;
  return newest !== null && step <= newest ? undefined : step;
}

/** otpauth: address that authenticator programs read. */
export function codeUri(secret: string, email: string): string {
  return new TOTP({ issuer: 'Halfinch', label: email, secret: Secret.fromBase32(secret) }).toString();
}
