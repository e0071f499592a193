import type { EntitySubscriberInterface, InsertEvent, QueryRunner } from 'typeorm';
import { Message } from '../reminders/index.js';
import type { UnitOfWork } from '../store/index.js';

/** What one transaction did to messages. */
export type Touched = {
  /** Messages that were written. */
  readonly ids: readonly string[];
  /** Whether any was changed; which ones is not known. */
  readonly changed: boolean;
};

type Seen = { ids: string[]; changed: boolean };

/** Tells when a transaction that touched messages has been committed, and never of one that was rolled back. */
export class CommitWatch implements EntitySubscriberInterface<Message> {
  private readonly seen = new WeakMap<QueryRunner, Seen>();

  private constructor(private readonly tell: (touched: Touched) => void) {}

  /** Watches the one connection that writes. */
  static async on(units: UnitOfWork, tell: (touched: Touched) => void): Promise<void> {
    const watch = new CommitWatch(tell);
    await units.run(async (manager) => {
      manager.connection.subscribers.push(watch);
    });
  }

  listenTo(): typeof Message {
    return Message;
  }

  afterInsert({ queryRunner, entity }: InsertEvent<Message>): void {
    this.of(queryRunner).ids.push(entity.id);
  }

  afterUpdate({ queryRunner }: { queryRunner: QueryRunner }): void {
    this.of(queryRunner).changed = true;
  }

  afterTransactionCommit({ queryRunner }: { queryRunner: QueryRunner }): void {
    const touched = this.seen.get(queryRunner);
    this.seen.delete(queryRunner);
    if (touched) this.tell(touched);
  }

  afterTransactionRollback({ queryRunner }: { queryRunner: QueryRunner }): void {
    this.seen.delete(queryRunner);
  }

  private of(queryRunner: QueryRunner): Seen {
    const seen = this.seen.get(queryRunner) ?? { ids: [], changed: false };
    this.seen.set(queryRunner, seen);
    return seen;
  }
}
