import { hash, verify } from '@node-rs/argon2';
import { DomainError } from '../base/index.js';

/** OWASP Password Storage Cheat Sheet: argon2id with 19 MiB, 2 passes, 1 lane. */
const PARAMETERS = { memoryCost: 19_456, timeCost: 2, parallelism: 1 } as const;

const SHORTEST_PASSWORD = 10;
const LONGEST_PASSWORD = 1000;
const LEAST_DIFFERENT = 5;
/** What must be left once the words below and the person's own are taken out. */
const LEAST_OWN = 6;
/** Words that anybody would try first here. */
const OBVIOUS = ['halfinch', 'half-inch', 'password', 'passwort', 'qwerty', 'letmein', 'welcome', 'salon'];
const OBVIOUS_RUNS = ['abcdefghijklmnopqrstuvwxyz', '01234567890', 'qwertyuiopasdfghjklzxcvbnm'];

export function hashPassword(password: string): Promise<string> {
  return hash(password, PARAMETERS);
}

export function passwordMatches(encoded: string, password: string): Promise<boolean> {
  return verify(encoded, password);
}

/** Longest piece of `text` that runs along a row of keys, the alphabet or the digits, either way. */
function isARun(text: string): boolean {
  const backwards = [...text].reverse().join('');
  return OBVIOUS_RUNS.some((run) => {
    const twice = run + run;
    return twice.includes(text) || twice.includes(backwards);
  });
}

/**
 * Throws ACCOUNT.PASSWORD_SHORT below ten characters (NIST SP 800-63B asks for at least eight), and
 * ACCOUNT.PASSWORD_OBVIOUS for one that is little more than `own` words (name, address) or what everybody tries.
 * Any characters will do; nothing is cut off or changed.
 */
export function requirePassword(password: string, own: readonly string[] = []): void {
  if (password.length < SHORTEST_PASSWORD || password.length > LONGEST_PASSWORD) {
    throw DomainError.invalid(
      'ACCOUNT.PASSWORD_SHORT',
      'password',
      `A password needs at least ${SHORTEST_PASSWORD} characters, and at most ${LONGEST_PASSWORD}.`,
    );
  }
  const lower = password.toLowerCase();
  const words = own.flatMap((text) => text.toLowerCase().split(/[\s@.]+/)).filter((word) => word.length > 3);
  const rest = [...OBVIOUS, ...words].reduce((text, word) => text.replaceAll(word, ''), lower);
  if (rest.length < LEAST_OWN || new Set(lower).size < LEAST_DIFFERENT || isARun(lower)) {
    throw DomainError.invalid(
      'ACCOUNT.PASSWORD_OBVIOUS',
      'password',
      'This password is too easy to guess. Four or five words that nobody would put together make a good one.',
    );
  }
}
