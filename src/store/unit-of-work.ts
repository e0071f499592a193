import { AsyncLocalStorage } from 'node:async_hooks';
import { Logger } from '@nestjs/common';
import { Mutex } from 'async-mutex';
import { type DataSource, type EntityManager, QueryFailedError } from 'typeorm';
import { AsyncContext } from '../base/index.js';
import { isPostgres } from './dialect.js';

/** Names the lock that one unit at a time holds among all processes of an installation (any fixed number). */
const WRITING_LOCK = 4_180_002;

/** serialization_failure and deadlock_detected (PostgreSQL, appendix A): the same work may well succeed again. */
const WORTH_ANOTHER_TRY = new Set(['40001', '40P01']);
const TRIES = 3;

/** What a request holds every unit of its own to; what it throws rolls the unit back. */
export type UnitGuard = {
  /** Before anything is done. */
  readonly first?: (manager: EntityManager) => Promise<void>;
  /** When all is done, before the commit. */
  readonly last?: (manager: EntityManager) => Promise<void>;
};

/**
 * The only way to write. On SQLite all units share one connection, on which TypeORM would nest two open
 * transactions as savepoints and let a rollback of the first erase the second's "committed" rows: a mutex
 * lets one unit at a time through. On PostgreSQL a lock does the same among all processes, so that "look, then write"
 * means the same on both: each statement after the lock sees what every earlier unit committed. The audit chain makes
 * nearly every unit wait for its forerunner anyway. Keep slow work (hashing, rendering, network) out of it.
 */
export class UnitOfWork {
  private readonly log = new Logger('UnitOfWork');
  private readonly mutex = new Mutex();
  /** What the unit that is running wants done once it is committed. */
  private readonly inside = new AsyncContext<(() => void)[]>();

  private readonly guards = new AsyncContext<readonly UnitGuard[]>();

  /** As it was before anybody asked: what follows a commit belongs to no request any more. */
  private readonly apart = AsyncLocalStorage.snapshot();

  constructor(private readonly writer: DataSource) {}

  /** Runs `work`; every unit that begins in it is held to `guard`, within those it is held to already. */
  async guarded<T>(guard: UnitGuard, work: () => Promise<T>): Promise<T> {
    return await this.guards.run([...(this.guards.value ?? []), guard], work);
  }

  /**
   * Runs `work` in one transaction and returns its result once committed; any error rolls all of it back.
   * `work` runs again when the database asks for that, so it changes nothing but the database.
   * Throws when called from inside another unit, which would wait for itself for ever: pass the manager on.
   */
  async run<T>(work: (manager: EntityManager) => Promise<T>): Promise<T> {
    if (this.inside.value) {
      throw new Error('A unit of work was started inside another: pass the manager on instead.');
    }
    const after: (() => void)[] = [];
    const result = await this.mutex.runExclusive(() =>
      this.inside.run(after, () => this.committed(work, after)),
    );
    for (const one of after) this.told(one);
    return result;
  }

  /**
   * Has `work` called once the unit that is running has been committed, and never when it is rolled back. It must be
   * quick; what it throws is logged and changes nothing, for the unit stands. Throws outside a unit.
   */
  afterCommit(work: () => void): void {
    const after = this.inside.value;
    if (!after) throw new Error('Nothing is being written: there is no commit to wait for.');
    after.push(work);
  }

  private async committed<T>(
    work: (manager: EntityManager) => Promise<T>,
    after: (() => void)[],
  ): Promise<T> {
    for (let tries = 1; ; tries += 1) {
      try {
        return await this.writer.transaction(async (manager) => {
          if (isPostgres(manager)) await manager.query('SELECT pg_advisory_xact_lock($1)', [WRITING_LOCK]);
          return await this.held(manager, work);
        });
      } catch (error) {
        if (tries === TRIES || !isWorthAnotherTry(error)) throw error;
        after.length = 0;
      }
    }
  }

  private async held<T>(manager: EntityManager, work: (manager: EntityManager) => Promise<T>): Promise<T> {
    const guards = this.guards.value ?? [];
    for (const { first } of guards) await first?.(manager);
    const result = await work(manager);
    for (const { last } of guards) await last?.(manager);
    return result;
  }

  private told(work: () => void): void {
    try {
      this.apart(work);
    } catch (error) {
      this.log.error('What was to follow a commit failed.', (error as Error).stack);
    }
  }
}

function isWorthAnotherTry(error: unknown): boolean {
  if (!(error instanceof QueryFailedError)) return false;
  const { code } = error.driverError as { readonly code?: string };
  return code !== undefined && WORTH_ANOTHER_TRY.has(code);
}
