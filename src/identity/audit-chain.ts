import { createHash } from 'node:crypto';
import type { EntityManager } from 'typeorm';
import { AuditEntry } from './entities.js';

/** Newest entry of the trail: note it elsewhere, and cutting off the trail's end will show. */
export type AuditHead = { readonly number: number; readonly hash: string };

export type AuditVerdict = {
  readonly entries: number;
  readonly head: AuditHead | null;
  /** First entry that is not what was written, and what is wrong with it. */
  readonly broken: { readonly number: number; readonly what: string } | null;
};

/** SHA-256 over the hash before and every field, as a JSON array: no field can run over into the next. */
export function auditHash(previous: string, entry: Omit<AuditEntry, 'hash'>): string {
  const { number, id, at, accountId, role, action, subjectKind, subjectId, details, address } = entry;
  const text = details === null ? null : JSON.stringify(details);
  return createHash('sha256')
    .update(
      JSON.stringify([
        previous,
        number,
        id,
        at,
        accountId,
        role,
        action,
        subjectKind,
        subjectId,
        text,
        address,
      ]),
    )
    .digest('hex');
}

const BATCH = 2000;

/**
 * Reads the whole trail and recomputes every hash. `noted` is a head written down earlier: without it nobody can tell
 * a trail whose end was cut off from one that never went further.
 */
export async function verifyAudit(manager: EntityManager, noted?: AuditHead): Promise<AuditVerdict> {
  let head: AuditHead | null = null;
  let entries = 0;
  const broken = (number: number, what: string): AuditVerdict => ({
    entries,
    head,
    broken: { number, what },
  });
  for (;;) {
    const after: number = head?.number ?? 0;
    const batch = await manager
      .createQueryBuilder(AuditEntry, 'entry')
      .where('entry.number > :after', { after })
      .orderBy('entry.number', 'ASC')
      .limit(BATCH)
      .getMany();
    for (const entry of batch) {
      const expected: number = (head?.number ?? 0) + 1;
      if (entry.number !== expected) return broken(expected, 'It is missing.');
      if (entry.hash !== auditHash(head?.hash ?? '', entry)) {
        return broken(entry.number, 'It, or the one before it, was changed.');
      }
      if (noted?.number === entry.number && noted.hash !== entry.hash) {
        return broken(entry.number, 'It is not the one that was noted.');
      }
      head = { number: entry.number, hash: entry.hash };
      entries += 1;
    }
    if (batch.length < BATCH) break;
  }
  if (noted && noted.number > entries) {
    return broken(entries + 1, `The trail ends here, but once reached ${noted.number}.`);
  }
  return { entries, head, broken: null };
}
