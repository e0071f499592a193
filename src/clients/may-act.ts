import { type Action, type Actor, permits } from '../identity/index.js';

/** Whether this actor may do it: the system itself may, a client through a private link never. */
export function mayAct(actor: Actor, action: Action): boolean {
  const { role, scopes } = actor;
  if (role === 'system') return true;
  return role !== 'client' && permits({ role, ...(scopes && { scopes }) }, action);
}
