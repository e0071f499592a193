import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock } from '../base/index.js';
import { newId } from '../store/index.js';
import type { Actor } from './actor.js';
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

  /** Writes the entry in the caller's transaction: an act that is rolled back leaves no trace of having happened. */
  async record(manager: EntityManager, actor: Actor, fact: AuditFact): Promise<void> {
    await manager.insert(AuditEntry, {
      id: newId(),
      at: this.clock.now(),
      accountId: actor.accountId,
      action: fact.action,
      subjectKind: fact.subjectKind,
      subjectId: fact.subjectId,
      details: fact.details ?? null,
      address: actor.address ?? null,
    });
  }
}
