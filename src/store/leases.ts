import {
  type EntityManager,
  type EntityTarget,
  type FindOptionsWhere,
  In,
  type ObjectLiteral,
} from 'typeorm';
import type { QueryDeepPartialEntity } from 'typeorm/query-builder/QueryPartialEntity.js';
import type { Clock } from '../base/index.js';
import { isPostgres } from './dialect.js';
import { newId } from './ids.js';
import { InBatches } from './in-batches.js';
import type { Reader } from './reader.js';
import { asEntities } from './rows-by.js';
import type { UnitOfWork } from './unit-of-work.js';

/** A row of something that is owed to somebody outside: whoever carries it out has it in hand for a while. */
export type OwedRow = ObjectLiteral & {
  readonly id: string;
  readonly state: string;
  readonly dueAt: number;
  /** Nobody takes it up before then: it is in hand (`leaseId`), or waits for its next attempt. */
  readonly notBefore: number | null;
  readonly leaseId: string | null;
  /** Counted when it is taken up, so that one that dies in the attempt is counted too. */
  readonly attempts: number;
};

/** A row in hand, or why it is not: somebody else's or not yet due until an instant, or no longer owed. */
export type Taken<Held> = Held | { readonly freeAt: number } | { readonly gone: true };

type Lease = { readonly leaseId: string; readonly leaseMs: number; readonly now: number };
type Change = (manager: EntityManager) => Promise<boolean>;

/** Longer than Redis takes to hand out as many jobs as a worker has in hand. */
const GATHER_MS = 3;

export type LeaseOptions<R extends OwedRow, Held> = {
  readonly units: UnitOfWork;
  readonly reader: Reader;
  readonly clock: Clock;
  readonly entity: EntityTarget<R>;
  /** What is had in hand of each of these rows, in their order; asked in the transaction of the lease. */
  readonly hold: (manager: EntityManager, rows: readonly R[]) => Promise<Held[]>;
};

/**
 * Who has which owed row in hand, among any number of processes. Whoever dies leaves a lease that runs out. What comes at
 * the same time shares a transaction, because each costs a wait for the disk.
 */
export class Leases<R extends OwedRow, Held> {
  private readonly changes: InBatches<Change, boolean>;
  private readonly takes: InBatches<{ id: string; leaseMs: number }, Taken<Held>>;

  constructor(private readonly options: LeaseOptions<R, Held>) {
    this.changes = new InBatches(
      async (changes) =>
        await options.units.run(async (manager) => {
          const done: boolean[] = [];
          for (const change of changes) done.push(await change(manager));
          return done;
        }),
    );
    this.takes = new InBatches((wanted) => this.takeAll(wanted), GATHER_MS);
  }

  /** Whether anything is due that nobody has in hand. */
  async anyDue(): Promise<boolean> {
    return (await this.dueIds(1)).length > 0;
  }

  /**
   * Takes up to `count` due rows in hand for `leaseMs`, counting the attempt. Fewer, or none, when another was quicker.
   * The update repeats every condition, so that of two that saw the same row one gets it.
   */
  async take(count: number, leaseMs: number): Promise<Held[]> {
    const ids = await this.dueIds(count);
    return ids.length === 0 ? [] : (await this.lease(ids, leaseMs)).map(({ held }) => held);
  }

  /** Takes this row in hand if it is due and free. */
  async takeOne(id: string, leaseMs: number): Promise<Taken<Held>> {
    return await this.takes.do({ id, leaseMs });
  }

  /**
   * Writes an outcome and lets go, unless the lease ran out and somebody else has the row in hand. Tells whether it did;
   * `also` is done in the same transaction where it did.
   */
  async settle(
    { id, leaseId }: R,
    outcome: Partial<R>,
    also?: (manager: EntityManager) => Promise<void>,
  ): Promise<boolean> {
    return await this.changes.do(async (manager) => {
      const { affected } = await manager.update(
        this.options.entity,
        { id, state: 'owed', leaseId } as unknown as FindOptionsWhere<R>,
        { ...outcome, leaseId: null } as unknown as QueryDeepPartialEntity<R>,
      );
      if (affected !== 0) await also?.(manager);
      return affected !== 0;
    });
  }

  /**
   * Does `work` with what is due, at most `limit` rows, `atOnce` together, and stops early between two batches once
   * `stopping` is aborted. When `work` throws, throws after its batch is finished.
   */
  async workOff<T>(
    { limit, atOnce, leaseMs }: { readonly limit: number; readonly atOnce: number; readonly leaseMs: number },
    work: (held: Held) => Promise<T>,
    stopping?: AbortSignal,
  ): Promise<T[]> {
    const done: T[] = [];
    for (let taken = 0; taken < limit && !stopping?.aborted; ) {
      const batch = await this.take(Math.min(atOnce, limit - taken), leaseMs);
      if (batch.length === 0 && !(await this.anyDue())) break;
      taken += batch.length;
      const outcomes = await Promise.allSettled(batch.map(work));
      for (const outcome of outcomes) if (outcome.status === 'fulfilled') done.push(outcome.value);
      const broken = outcomes.find((outcome) => outcome.status === 'rejected');
      if (broken) throw broken.reason;
    }
    return done;
  }

  private async lease(
    ids: readonly string[],
    leaseMs: number,
  ): Promise<{ readonly row: R; readonly held: Held }[]> {
    const { units, clock, entity, hold } = this.options;
    const leaseId = newId();
    return await units.run(async (manager) => {
      // Asked only now: waiting for the writer must not eat into the lease.
      const rows = await takeInHand(manager, entity, ids, { leaseId, leaseMs, now: clock.now() });
      const held = await hold(manager, rows);
      return rows.map((row, i) => ({ row, held: held[i]! }));
    });
  }

  private async takeAll(wanted: readonly { id: string; leaseMs: number }[]): Promise<Taken<Held>[]> {
    const { reader, entity } = this.options;
    const ids = wanted.map(({ id }) => id);
    const taken = await this.lease(ids, Math.max(...wanted.map(({ leaseMs }) => leaseMs)));
    // Asked twice for one row, the first to ask has it.
    const inHand = new Map(taken.map((one) => [one.row.id, one]));
    const others = ids.filter((id) => !inHand.has(id));
    const left = new Map(
      others.length === 0
        ? []
        : (await reader.manager.findBy(entity, { id: In(others) } as unknown as FindOptionsWhere<R>)).map(
            (row) => [row.id, row],
          ),
    );
    return ids.map((id): Taken<Held> => {
      const one = inHand.get(id);
      if (one) {
        inHand.delete(id);
        left.set(id, one.row);
        return one.held;
      }
      const row = left.get(id);
      if (row?.state !== 'owed') return { gone: true };
      return { freeAt: Math.max(row.dueAt, row.notBefore ?? 0) };
    });
  }

  private async dueIds(count: number): Promise<string[]> {
    const { reader, clock, entity } = this.options;
    const now = clock.now();
    const rows: { row_id: string }[] = await reader.manager
      .createQueryBuilder(entity, 'row')
      .select('row.id')
      .where(
        `row.state = 'owed' AND row.dueAt <= :now AND (row.notBefore IS NULL OR row.notBefore <= :now)`,
        {
          now,
        },
      )
      .orderBy('row.dueAt', 'ASC')
      .addOrderBy('row.id', 'ASC')
      .limit(count)
      .getRawMany();
    return rows.map(({ row_id }) => row_id);
  }
}

/**
 * Leases those of these rows that are due and free, counting the attempt, and returns them in the order in which they
 * are due: in one statement, understood by SQLite (3.35 or newer) and PostgreSQL alike.
 */
async function takeInHand<R extends OwedRow>(
  manager: EntityManager,
  entity: EntityTarget<R>,
  ids: readonly string[],
  { leaseId, leaseMs, now }: Lease,
): Promise<R[]> {
  const { columns, tablePath } = manager.connection.getMetadata(entity);
  const rows = ids.map((_, i) => `(CAST($${i + 1} AS text))`).join(', ');
  const [lease, until, at] = [1, 2, 3].map((n) => `$${ids.length + n}`);
  // SQLite binds in the order in which the marks come first.
  const answer = await manager.query(
    `WITH wanted(id) AS (VALUES ${rows})
     UPDATE "${tablePath}" SET "leaseId" = ${lease}, "notBefore" = ${until}, attempts = attempts + 1
     WHERE id IN (SELECT id FROM wanted) AND state = 'owed' AND "dueAt" <= ${at}
       AND ("notBefore" IS NULL OR "notBefore" <= ${at})
     RETURNING ${columns.map(({ databaseName }) => `"${databaseName}"`).join(', ')}`,
    [...ids, leaseId, now + leaseMs, now],
  );
  const raws: Record<string, unknown>[] = isPostgres(manager) ? answer[0] : answer;
  const taken = asEntities(manager, entity, raws);
  return taken.sort((a, b) => a.dueAt - b.dueAt || (a.id < b.id ? -1 : 1));
}
