import type { EntitySubscriberInterface, InsertEvent, QueryRunner } from 'typeorm';
import type { OwedRow, UnitOfWork } from '../store/index.js';
import type { Carried } from './queue-name.js';

/** What one transaction did to what is owed. */
export type Touched = {
  /** Rows that were written. */
  readonly ids: readonly string[];
  /** Whether any was changed; which ones is not known. */
  readonly changed: boolean;
};

type Seen = { ids: string[]; changed: boolean };

/** Tells when a transaction that touched what is owed has been committed, and never of one that was rolled back. */
export class CommitWatch implements EntitySubscriberInterface<OwedRow> {
  private readonly seen = new WeakMap<QueryRunner, Seen>();

  private constructor(
    private readonly entity: Carried['entity'],
    private readonly tell: (touched: Touched) => void,
  ) {}

  /** Watches the one connection that writes. */
  static async on(
    units: UnitOfWork,
    entity: Carried['entity'],
    tell: (touched: Touched) => void,
  ): Promise<void> {
    const watch = new CommitWatch(entity, tell);
    await units.run(async (manager) => {
      manager.connection.subscribers.push(watch);
    });
  }

  listenTo(): Carried['entity'] {
    return this.entity;
  }

  afterInsert({ queryRunner, entity }: InsertEvent<OwedRow>): void {
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
