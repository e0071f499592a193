import { AsyncLocalStorage } from 'node:async_hooks';
import { Logger } from '@nestjs/common';
import { Mutex } from 'async-mutex';
import type { DataSource, EntityManager } from 'typeorm';

/**
 * The only way to write. On SQLite all units share one connection, on which TypeORM would nest two open
 * transactions as savepoints and let a rollback of the first erase the second's "committed" rows: a mutex
 * lets one unit at a time through. Keep slow work (hashing, rendering, network) out of it.
 */
export class UnitOfWork {
  private readonly log = new Logger('UnitOfWork');
  private readonly mutex = new Mutex();
  /** What the unit that is running wants done once it is committed. */
  private readonly inside = new AsyncLocalStorage<(() => void)[]>();

  constructor(private readonly writer: DataSource) {}

  /**
   * Runs `work` in one transaction and returns its result once committed; any error rolls all of it back.
   * Throws when called from inside another unit, which would wait for itself for ever: pass the manager on.
   */
  async run<T>(work: (manager: EntityManager) => Promise<T>): Promise<T> {
    if (this.inside.getStore()) {
      throw new Error('A unit of work was started inside another: pass the manager on instead.');
    }
    const after: (() => void)[] = [];
    const result = await this.mutex.runExclusive(() =>
      this.inside.run(after, () => this.writer.transaction((manager) => work(manager))),
    );
    for (const one of after) this.told(one);
    return result;
  }

  /**
   * Has `work` called once the unit that is running has been committed, and never when it is rolled back. It must be
   * quick; what it throws is logged and changes nothing, for the unit stands. Throws outside a unit.
   */
  afterCommit(work: () => void): void {
    const after = this.inside.getStore();
    if (!after) throw new Error('Nothing is being written: there is no commit to wait for.');
    after.push(work);
  }

  private told(work: () => void): void {
    try {
      work();
    } catch (error) {
      this.log.error('What was to follow a commit failed.', (error as Error).stack);
    }
  }
}
