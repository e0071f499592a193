import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock } from '../base/index.js';
import { newId } from '../store/index.js';
import type { Actor } from './actor.js';
import { auditHash } from './audit-chain.js';
import { AuditEntry } from './entities.js';

export type AuditFact = {
  /** Room and verb, such as 'client.change'. */
  readonly action: string;
  readonly subjectKind: string;
  readonly subjectId: string | null;
  /** Names of what changed and harmless figures; never a health field's value. */
  readonly details?: Record<string, string | number | boolean | null>;
};

@Injectable()
export class Audit {
  constructor(private readonly clock: Clock) {}

  /**
   * Writes the entry in the caller's unit of work, of which there is one at a time: so entries are chained one after the
   * other, and an act that is rolled back leaves no trace of having happened.
   */
  async record(manager: EntityManager, actor: Actor, fact: AuditFact): Promise<void> {
    const last = await manager
      .createQueryBuilder(AuditEntry, 'entry')
      .select(['entry.number AS number', 'entry.hash AS hash'])
      .orderBy('entry.number', 'DESC')
      .limit(1)
      .getRawOne<{ number: number; hash: string }>();
    const entry = {
      id: newId(),
      number: Number(last?.number ?? 0) + 1,
      at: this.clock.now(),
      accountId: actor.accountId,
      role: actor.role,
      action: fact.action,
      subjectKind: fact.subjectKind,
      subjectId: fact.subjectId,
      details: fact.details ?? null,
      address: actor.address ?? null,
    };
    await manager.insert(AuditEntry, { ...entry, hash: auditHash(last?.hash ?? '', entry) });
  }
}
