import type { Role } from './entities.js';

/** Who does something: a signed-in person, the client through a private link, or the system itself. */
export type Actor = {
  readonly accountId: string | null;
  readonly role: Role | 'client' | 'system';
  /** Network address, for the audit trail. */
  readonly address?: string;
  /** What an API token was narrowed to; undefined: everything the role may do. */
  readonly scopes?: readonly string[];
};

export const SYSTEM: Actor = { accountId: null, role: 'system' };

/** The client herself, by a link of hers; `address` is where she asks from. */
export function asClient(address?: string): Actor {
  return { accountId: null, role: 'client', ...(address !== undefined && { address }) };
}
