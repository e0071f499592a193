import type { EntityManager } from 'typeorm';
import { DomainError } from '../base/index.js';
import { newId } from '../store/index.js';
import { type NamedClient, namedClient, whoOf } from './client-cells.js';
import type { KnownClient } from './client-lookup.js';
import { ImportedRow } from './entities.js';
import { ClientFinder } from './find-client.js';
import type { ImportRecord } from './records.js';
import { RowCells } from './row-cells.js';
import { alone, type Taken, type Taking } from './taking.js';

/** A row about a client who is here. */
export type AboutClient = {
  readonly row: RowCells;
  readonly record: ImportRecord;
  readonly client: KnownClient;
};

/**
 * Takes rows that are about clients one by one: finds whom each is about, and lets `work` do the rest by itself, so that
 * what one row is refused for leaves the others standing.
 */
export async function takeEach(
  manager: EntityManager,
  records: readonly ImportRecord[],
  taking: Taking,
  work: (about: AboutClient) => Promise<Omit<Taken, 'who' | 'clientId'>>,
): Promise<Taken[]> {
  const rows = records.map((record) => {
    const row = new RowCells(record, taking.reading);
    return { record, row, named: namedClient(row, taking.salon.phoneRegion) };
  });
  const finder = await ClientFinder.for(
    manager,
    taking.salon.id,
    rows.map(({ named }) => named),
  );
  const taken: Taken[] = [];
  for (const { record, row, named } of rows) {
    taken.push(await takeOne(manager, { record, row, named }, finder, work));
  }
  return taken;
}

async function takeOne(
  manager: EntityManager,
  { record, row, named }: { record: ImportRecord; row: RowCells; named: NamedClient },
  finder: ClientFinder,
  work: (about: AboutClient) => Promise<Omit<Taken, 'who' | 'clientId'>>,
): Promise<Taken> {
  const who = whoOf(named);
  if (record.problem !== undefined) return { outcome: 'refused', words: record.problem, who };
  return await alone(
    manager,
    () => who,
    async () => {
      row.requireNone();
      const client = finder.find(named, row);
      try {
        return { ...(await work({ row, record, client })), clientId: client.id, who };
      } catch (error) {
        throw error instanceof DomainError && error.code !== 'IMPORT.ROW' ? row.renamed(error) : error;
      }
    },
  );
}

/** The same row of an earlier import, or of this one. */
export async function takenBefore(
  manager: EntityManager,
  kind: ImportedRow['kind'],
  rowKey: string,
  taking: Taking,
): Promise<ImportedRow | null> {
  return await manager.findOneBy(ImportedRow, { salonId: taking.salon.id, kind, rowKey });
}

/** What is said of a row that was taken before; undefined when it says something else now. */
export function nothingNew(
  before: ImportedRow,
  digest: string,
  record: ImportRecord,
  { runId }: Taking,
): Omit<Taken, 'who'> | undefined {
  if (before.digest !== digest) return undefined;
  const again = before.runId === runId && before.rowNumber !== record.row;
  return {
    outcome: 'same',
    words: again ? `The same as row ${before.rowNumber}.` : 'Imported before; nothing new.',
  };
}

/** In a check: whether a row of an earlier batch, of which nothing was kept, said the same. */
export function seenBefore(
  rowKey: string,
  record: ImportRecord,
  { seen }: Taking,
): Omit<Taken, 'who'> | undefined {
  const row = seen?.find(rowKey);
  return row === undefined || row === record.row
    ? undefined
    : { outcome: 'same', words: `The same as row ${row}.` };
}

export async function remember(
  manager: EntityManager,
  kind: ImportedRow['kind'],
  taken: {
    readonly clientId: string;
    readonly subjectId: string;
    readonly rowKey: string;
    readonly digest: string;
  },
  record: ImportRecord,
  { salon, runId, now, seen }: Taking,
): Promise<void> {
  seen?.note(taken.rowKey, record.row);
  await manager.insert(ImportedRow, {
    id: newId(),
    salonId: salon.id,
    kind,
    ...taken,
    runId,
    rowNumber: record.row,
    takenAt: now,
  });
}

/** Refuses a row that was taken with other values before: what is on record is changed by people. */
export function changedSince(what: string): DomainError {
  return new DomainError(
    'refused',
    'IMPORT.CHANGED_SINCE',
    `This ${what} was imported before with other values. Nothing was changed: mend it on the client’s card.`,
  );
}
