import { hash, verify } from '@node-rs/argon2';

/** OWASP Password Storage Cheat Sheet: argon2id with 19 MiB, 2 passes, 1 lane. */
const PARAMETERS = { memoryCost: 19_456, timeCost: 2, parallelism: 1 } as const;

export function hashPassword(password: string): Promise<string> {
  return hash(password, PARAMETERS);
}

export function passwordMatches(encoded: string, password: string): Promise<boolean> {
  return verify(encoded, password);
}
