import type { EntityManager } from 'typeorm';
import { AuditEntry } from '../identity/index.js';
import { keysetPage, type Page, type PageAsked } from '../store/index.js';
import type { ClientRecord } from './clients.js';
import { Client } from './entities.js';

/** On the audit trail of a client, and no change of hers. */
const LOOKS = ['client.health.look', 'client.export'];

/**
 * A page of a salon's clients in the order in which they were added, all or those that were added or changed at
 * `changedSince` (milliseconds) or later; whoever was erased is among them, with nothing left in her.
 */
export async function clientPage(
  manager: EntityManager,
  salonId: string,
  { changedSince }: { readonly changedSince?: number | undefined },
  asked: PageAsked,
): Promise<Page<ClientRecord>> {
  const query = manager.createQueryBuilder(Client, 'client').where('client.salonId = :salonId', { salonId });
  if (changedSince !== undefined) {
    const changed = query
      .subQuery()
      .select('entry.subjectId')
      .from(AuditEntry, 'entry')
      .where("entry.subjectKind = 'client' AND entry.at >= :changedSince AND entry.action NOT IN (:...looks)")
      .getQuery();
    query.andWhere(`(client.addedAt >= :changedSince OR client.id IN ${changed})`);
    query.setParameters({ changedSince, looks: LOOKS });
  }
  return await keysetPage(query, ['id'], 'ASC', asked);
}
