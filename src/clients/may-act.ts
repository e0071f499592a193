import { type Action, type Actor, may } from '../identity/index.js';

/** Whether this actor may do it: the system itself may, a client through a private link never. */
export function mayAct(actor: Actor, action: Action): boolean {
  if (actor.role === 'system') return true;
  return actor.role !== 'client' && may(actor.role, action);
}
