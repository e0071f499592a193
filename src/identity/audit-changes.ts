import { type EntityManager, IsNull, MoreThan, Not } from 'typeorm';
import { AuditEntry } from './entities.js';

/** Number of the newest entry in the caller's unit of work; 0 where there is none. */
export async function lastAuditNumber(manager: EntityManager): Promise<number> {
  return (await manager.maximum(AuditEntry, 'number')) ?? 0;
}

/** What the entries after `number` are about, each once, in their order. */
export async function changedSince(
  manager: EntityManager,
  number: number,
): Promise<{ kind: string; id: string }[]> {
  const entries = await manager.find(AuditEntry, {
    where: { number: MoreThan(number), subjectId: Not(IsNull()) },
    order: { number: 'ASC' },
  });
  const subjects = entries.map(({ subjectKind: kind, subjectId: id }) => ({ kind, id: id ?? '' }));
  return [...new Map(subjects.map((subject) => [`${subject.kind} ${subject.id}`, subject])).values()];
}
