import { describe, expect, it } from '@jest/globals';
import { Secret } from 'otpauth';
import { codeStep, codeUri, newCodeSecret } from './one-time-code.js';

/** RFC 6238 appendix B: the ASCII secret of its SHA-1 rows. */
const SECRET = Secret.fromLatin1('12345678901234567890').base32;

describe('one-time codes', () => {
  // RFC 6238 appendix B gives eight digits; six-digit codes are their last six (RFC 4226 5.3: modulo 10^Digit).
  it.each([
    [59, '94287082'],
    [1111111109, '07081804'],
    [1111111111, '14050471'],
    [1234567890, '89005924'],
    [2000000000, '69279037'],
    [20000000000, '65353130'],
  ])('agree with RFC 6238 at %i s', (seconds, eight) => {
    expect(codeStep(SECRET, eight.slice(-6), seconds * 1000, null)).toBe(Math.floor(seconds / 30));
  });

  it('count one step early or late, not two', () => {
    const at = 1111111111_000;
    const step = Math.floor(at / 30_000);
    expect(codeStep(SECRET, '050471', at + 30_000, null)).toBe(step);
    expect(codeStep(SECRET, '050471', at - 30_000, null)).toBe(step);
    expect(codeStep(SECRET, '050471', at + 60_000, null)).toBeUndefined();
  });

  it('are good once', () => {
    const at = 1111111111_000;
    const step = Math.floor(at / 30_000);
    expect(codeStep(SECRET, '050471', at, step - 1)).toBe(step);
    expect(codeStep(SECRET, '050471', at, step)).toBeUndefined();
    expect(codeStep(SECRET, '050471', at + 30_000, step)).toBeUndefined();
  });

  it('take blanks as people type them, and nothing else', () => {
    expect(codeStep(SECRET, ' 050 471', 1111111111_000, null)).toBeDefined();
    for (const wrong of ['', '50471', '0504711', 'abcdef', '050472', '-50471']) {
      expect(codeStep(SECRET, wrong, 1111111111_000, null)).toBeUndefined();
    }
  });

  it('come from 160 random bits, named for the authenticator', () => {
    const secret = newCodeSecret();
    expect(Secret.fromBase32(secret).bytes).toHaveLength(20);
    expect(newCodeSecret()).not.toBe(secret);
    const uri = new URL(codeUri(secret, 'mara@wren-tallow.example.org'));
    expect(uri.protocol).toBe('otpauth:');
    expect(uri.searchParams.get('secret')).toBe(secret);
  });
});
