import { ROLES, type Role } from './entities.js';

/** Who may do what. One row an action; a route names the action it needs. */
export const ACCESS = {
  'client.read': ['stylist', 'desk', 'owner'],
  'client.write': ['stylist', 'desk', 'owner'],
  'client.health': ['stylist', 'owner'],
  'cut.read': ['stylist', 'owner'],
  'cut.write': ['stylist', 'owner'],
  'skin-test.read': ['stylist', 'desk', 'owner'],
  'skin-test.write': ['stylist', 'owner'],
  'book.read': ['stylist', 'desk', 'owner'],
  'book.write': ['stylist', 'desk', 'owner'],
  'message.read': ['desk', 'owner'],
  'message.write': ['desk', 'owner'],
  /** The place where figures are; which ones there are is said by the next three. */
  'report.open': ['stylist', 'desk', 'owner'],
  /** Everybody's, with the money. */
  'report.read': ['owner'],
  /** Of one's own visits. */
  'report.own': ['stylist', 'owner'],
  /** What is coming, without any money. */
  'report.outlook': ['desk', 'owner'],
  'report.write': ['owner'],
  'salon.read': ['stylist', 'desk', 'owner'],
  'salon.write': ['owner'],
  /** Who works when: weeks, single days, days off. Somebody falls ill while the owner is away. */
  'rota.write': ['desk', 'owner'],
  'audit.read': ['owner'],
  'import.write': ['owner'],
  'privacy.read': ['owner'],
  'privacy.write': ['owner'],
  /** One's own password, codes, PIN, sessions and tokens. */
  'account.self': ROLES,
  /** Other people's accounts. */
  'account.manage': ['owner'],
} as const satisfies Record<string, readonly Role[]>;

export type Action = keyof typeof ACCESS;

export const ACTIONS = Object.keys(ACCESS) as readonly Action[];

/** What a token can never be given, nor somebody do who switched by PIN: it would let either outlive itself. */
const IN_PERSON: ReadonlySet<Action> = new Set(['account.self', 'account.manage']);

/** How somebody came in. */
export type Way = 'password' | 'pin' | 'token';

/** What an API token may be given. */
export const SCOPES: readonly Action[] = ACTIONS.filter((action) => !IN_PERSON.has(action));

export function may(role: Role, action: Action): boolean {
  return (ACCESS[action] as readonly Role[]).includes(role);
}

/** The role, less what the way in takes from it. A token does what its scopes name and its account's role may do. */
export function permits(
  who: { readonly role: Role; readonly via?: Way; readonly scopes?: readonly string[] },
  action: Action,
): boolean {
  if (!may(who.role, action)) return false;
  if (who.via !== undefined && who.via !== 'password' && IN_PERSON.has(action)) return false;
  return who.scopes === undefined || who.scopes.includes(action);
}

/** By PIN nobody is the owner: an owner who switches at the desk has a stylist's rights until the password is given. */
export function roleByPin(role: Role): Role {
  return role === 'owner' ? 'stylist' : role;
}
