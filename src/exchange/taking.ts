import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import { EngineError } from '../engine/errors.js';
import type { Actor } from '../identity/index.js';
import type { Salon } from '../salon/index.js';
import type { Outcome } from './entities.js';
import type { ImportRecord } from './records.js';
import type { Reading } from './row-cells.js';
import type { SeenRows } from './row-keys.js';
import type { ImportSettings } from './settings.js';

/** Everything a batch of rows is taken with. */
export type Taking = {
  readonly runId: string;
  readonly salon: Salon;
  readonly settings: ImportSettings;
  readonly reading: Reading;
  readonly actor: Actor;
  readonly now: number;
  /** In a check: what earlier batches said, for nothing of them was kept. Undefined when it is done in earnest. */
  readonly seen: SeenRows | undefined;
};

/** What became of a row. */
export type Taken = {
  readonly outcome: Outcome;
  readonly words: string;
  /** Heading of the column that is to be mended. */
  readonly column?: string;
  readonly clientId?: string;
  /** Who the row says it is. */
  readonly who: string;
};

/** Takes batches of rows of one kind, in the caller's unit of work. */
export type Taker = {
  /** Rows to a batch: the writer is held so long. */
  readonly batchRows: number;
  take(manager: EntityManager, records: readonly ImportRecord[], taking: Taking): Promise<Taken[]>;
};

/** A refusal as its line in the report; what is no refusal of ours is thrown on. */
export function refusedBy(error: unknown, who: string): Taken {
  if (error instanceof DomainError) {
    const [first] = error.fields;
    return { outcome: 'refused', words: error.message, who, ...(first && { column: first.field }) };
  }
  if (error instanceof EngineError) return { outcome: 'refused', words: error.message, who };
  throw error;
}

/** Does the work of one row so that a refusal leaves nothing of it and the others stand. */
export async function alone(
  manager: EntityManager,
  who: () => string,
  work: () => Promise<Taken>,
): Promise<Taken> {
  await manager.query('SAVEPOINT import_row');
  try {
    const taken = await work();
    await manager.query('RELEASE SAVEPOINT import_row');
    return taken;
  } catch (error) {
    const taken = refusedBy(error, who());
    await manager.query('ROLLBACK TO SAVEPOINT import_row');
    await manager.query('RELEASE SAVEPOINT import_row');
    return taken;
  }
}
