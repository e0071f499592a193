import type { EntityManager, FindOptionsWhere } from 'typeorm';
import { Message } from './entities.js';
import type { MessageEffects } from './message-effects.js';

/** Makes a message that was sent and never arrived the desk's, as failed; one that is no longer `sent` stays as it is. */
export async function recordUndelivered(
  manager: EntityManager,
  effects: MessageEffects,
  where: FindOptionsWhere<Message>,
  lastError: string,
): Promise<void> {
  const sent = await manager.findOneBy(Message, { ...where, state: 'sent' });
  if (!sent) return;
  await manager.update(Message, { id: sent.id }, { state: 'failed', reason: 'undelivered', lastError });
  await effects.failed(manager, sent);
}
