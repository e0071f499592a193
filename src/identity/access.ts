import type { Role } from './entities.js';

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
  'report.read': ['owner'],
  'salon.read': ['stylist', 'desk', 'owner'],
  'salon.write': ['owner'],
} as const satisfies Record<string, readonly Role[]>;

export type Action = keyof typeof ACCESS;

export function may(role: Role, action: Action): boolean {
  return (ACCESS[action] as readonly Role[]).includes(role);
}
