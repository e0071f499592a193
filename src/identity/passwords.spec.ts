import { describe, expect, it } from '@jest/globals';
import { hashPassword, passwordMatches, requirePassword } from './passwords.js';

describe('passwords', () => {
  it.each(['correct horse battery', 'ÿÿÿTallow9!', '          a b c d e', `x${'0123456789'.repeat(20)}y`])(
    'may hold anything: %s',
    (password) => {
      expect(() => requirePassword(password, ['Mara Vex', 'mara@wren-tallow.example.org'])).not.toThrow();
    },
  );

  it.each([
    ['short', 'ninechars', 'ACCOUNT.PASSWORD_SHORT'],
    ['the product', 'halfinch2026', 'ACCOUNT.PASSWORD_OBVIOUS'],
    ['the word itself', 'Password12345', 'ACCOUNT.PASSWORD_OBVIOUS'],
    ['one key', 'aaaaaaaaaaaa', 'ACCOUNT.PASSWORD_OBVIOUS'],
    ['digits in a row', '1234567890', 'ACCOUNT.PASSWORD_OBVIOUS'],
    ['a row of keys', 'qwertyuiop', 'ACCOUNT.PASSWORD_OBVIOUS'],
    ['backwards', '9876543210', 'ACCOUNT.PASSWORD_OBVIOUS'],
    ['her own name', 'Hallwright1', 'ACCOUNT.PASSWORD_OBVIOUS'],
    ['her address', 'mara.hall@1', 'ACCOUNT.PASSWORD_OBVIOUS'],
  ])('are refused when they are %s', (_, password, code) => {
    expect(() => requirePassword(password, ['Mara Hallwright', 'mara.hall@example.org'])).toThrow(
      expect.objectContaining({ code, fields: [expect.objectContaining({ field: 'password' })] }),
    );
  });

  it('are kept as argon2id with the parameters that OWASP asks for', async () => {
    const encoded = await hashPassword('correct horse battery');
    // Password Storage Cheat Sheet: "m=19456 (19 MiB), t=2, p=1".
    expect(encoded).toMatch(/^\$argon2id\$v=19\$m=19456,t=2,p=1\$/);
    expect(await passwordMatches(encoded, 'correct horse battery')).toBe(true);
    expect(await passwordMatches(encoded, 'Correct horse battery')).toBe(false);
    expect(await passwordMatches(encoded, 'correct horse battery ')).toBe(false);
  });
});
