import type { EntityManager } from 'typeorm';
import { newId } from '../store/index.js';
import { Message } from './entities.js';

const INSERTED_TOGETHER = 100;

export type OwedRow = Omit<
  Partial<Message>,
  'dedupeKey' | 'salonId' | 'clientId' | 'kind' | 'channel' | 'dueAt'
> &
  Pick<Message, 'dedupeKey' | 'salonId' | 'clientId' | 'kind' | 'channel' | 'dueAt'>;

/** Owes each once, however often and by however many it is owed. */
export async function oweRows(manager: EntityManager, rows: readonly OwedRow[], now: number): Promise<void> {
  for (let i = 0; i < rows.length; i += INSERTED_TOGETHER) {
    const values = rows
      .slice(i, i + INSERTED_TOGETHER)
      .map((row) => ({ ...row, id: newId(), owedSince: now, state: 'owed' as const, attempts: 0 }));
    await manager.createQueryBuilder().insert().into(Message).values(values).orIgnore().execute();
  }
}
