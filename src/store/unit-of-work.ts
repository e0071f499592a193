import { AsyncLocalStorage } from 'node:async_hooks';
import { Mutex } from 'async-mutex';
import type { DataSource, EntityManager } from 'typeorm';

/**
 * The only way to write. On SQLite all units share one connection, on which TypeORM would nest two open
 * transactions as savepoints and let a rollback of the first erase the second's "committed" rows: a mutex
 * lets one unit at a time through. Keep slow work (hashing, rendering, network) out of it.
 */
export class UnitOfWork {
  private readonly mutex = new Mutex();
  private readonly inside = new AsyncLocalStorage<true>();

  constructor(private readonly writer: DataSource) {}

  /**
   * Runs `work` in one transaction and returns its result once committed; any error rolls all of it back.
   * Throws when called from inside another unit, which would wait for itself for ever: pass the manager on.
   */
  async run<T>(work: (manager: EntityManager) => Promise<T>): Promise<T> {
    if (this.inside.getStore()) {
      throw new Error('A unit of work was started inside another: pass the manager on instead.');
    }
    return await this.mutex.runExclusive(() =>
      this.inside.run(true, () => this.writer.transaction((manager) => work(manager))),
    );
  }
}
