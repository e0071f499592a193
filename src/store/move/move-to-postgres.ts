import { createHash } from 'node:crypto';
import { Client } from 'pg';
import type { DataSource } from 'typeorm';
import { type Classes, openWriter, sqliteReader } from '../sources.js';
import { markTarget, UNFINISHED_MOVE } from './mark.js';
import { MoveError } from './move-error.js';
import { plainValue, rowSum, type StoredRow } from './row-sum.js';
import { requireSameSchema, type Table, tablesInOrder } from './tables.js';

const ROWS_AT_A_TIME = 500;
/** Held while records are moved into a database (any fixed number). */
const MOVING_LOCK = 4_180_003;

export type Move = {
  /** The SQLite file, which is only read. */
  readonly file: string;
  /** postgres:// address of an empty database, or of one that an earlier run began to fill. */
  readonly url: string;
  readonly entities: Classes;
  readonly migrations: Classes;
  /** Hears of each table that is done. */
  readonly tell: (moved: MovedTable) => void;
};

export type MovedTable = {
  readonly table: string;
  readonly rows: number;
  /** Of them moved by this run; the others were there from an earlier one. */
  readonly added: number;
};

export type VerifiedTable = {
  readonly table: string;
  readonly rows: number;
  /** SHA-256 over the sums of its rows in the source's order, the same on both sides. */
  readonly sha256: string;
};

/**
 * Moves all records from an SQLite file into PostgreSQL and then compares every row of both by its checksum. Cut short,
 * it goes on where it was when it is run again; until it has finished, Halfinch refuses to start on the target. Throws
 * MoveError: a target that holds anything foreign, a source of another version or one that is written meanwhile, a row
 * that PostgreSQL cannot hold, a row that is another on either side.
 */
export async function moveToPostgres({
  file,
  url,
  entities,
  migrations,
  tell,
}: Move): Promise<VerifiedTable[]> {
  const source = await sqliteReader(file, entities).initialize();
  const guard = new Client({ connectionString: url });
  try {
    await guard.connect();
    await takeTurn(guard);
    await markTarget(guard);
    const target = await openWriter(url, entities, migrations, { statementMs: 0, isMove: true });
    try {
      await requireSameSchema(source, target);
      const verified = await snapshotOf(source, async () => {
        const tables = await tablesInOrder(target);
        for (const table of tables) tell(await moveTable(source, target, table));
        const sums: VerifiedTable[] = [];
        for (const table of tables) sums.push(await verifyTable(source, target, table));
        return sums;
      });
      await target.query(`DROP TABLE public.${UNFINISHED_MOVE}`);
      await target.query('ANALYZE');
      return verified;
    } finally {
      await target.destroy();
    }
  } finally {
    await guard.end();
    await source.destroy();
  }
}

async function takeTurn(guard: Client): Promise<void> {
  const { rows } = await guard.query<{ got: boolean }>('SELECT pg_try_advisory_lock($1) AS got', [
    MOVING_LOCK,
  ]);
  if (!rows[0]?.got)
    throw new MoveError('Somebody is moving records into this database already. Let that finish.');
}

/** Has `work` see one state of the source, and makes sure that it is the last one. */
async function snapshotOf<T>(source: DataSource, work: () => Promise<T>): Promise<T> {
  const version = async () => JSON.stringify(await source.query('PRAGMA data_version'));
  const before = await version();
  await source.query('BEGIN');
  let result: T;
  try {
    result = await work();
  } finally {
    await source.query('COMMIT');
  }
  if ((await version()) === before) return result;
  throw new MoveError(
    'The SQLite file was written to while it was being moved. Stop Halfinch, make a new, empty PostgreSQL database and ' +
      'run this again on it.',
  );
}

/** No column of ours is called that. */
const PLACE = '_place in file';

/** All rows of a table in the order in which they lie in the file. */
async function* batchesOf(source: DataSource, { name }: Table): AsyncGenerator<StoredRow[]> {
  let last = 0;
  for (;;) {
    const rows: StoredRow[] = await source.query(
      `SELECT *, rowid AS "${PLACE}" FROM "${name}" WHERE rowid > ? ORDER BY rowid LIMIT ?`,
      [last, ROWS_AT_A_TIME],
    );
    if (rows.length === 0) return;
    yield rows;
    last = Number(rows.at(-1)?.[PLACE]);
  }
}

/** The target's rows of these keys. */
async function presentOf(target: DataSource, { name, key }: Table, rows: readonly StoredRow[]) {
  const present: StoredRow[] = await target.query(`SELECT * FROM "${name}" WHERE "${key}" = ANY($1)`, [
    rows.map((row) => row[key]),
  ]);
  return new Map(present.map((row) => [row[key], row]));
}

async function moveTable(source: DataSource, target: DataSource, table: Table): Promise<MovedTable> {
  let rows = 0;
  let added = 0;
  for await (const batch of batchesOf(source, table)) {
    const present = await presentOf(target, table, batch);
    const missing = batch.filter((row) => !present.has(row[table.key]));
    await insert(target, table, missing);
    rows += batch.length;
    added += missing.length;
  }
  return { table: table.name, rows, added };
}

async function insert(target: DataSource, table: Table, rows: readonly StoredRow[]): Promise<void> {
  if (rows.length === 0) return;
  try {
    await insertTogether(target, table, rows);
  } catch {
    // Which of them it was is worth knowing.
    for (const row of rows) {
      await insertTogether(target, table, [row]).catch((error: Error) => {
        throw new MoveError(
          `The row ${String(row[table.key])} of the table ${table.name} cannot be moved: ${error.message}. Mend it in the ` +
            'SQLite file, by Halfinch itself if possible, and run this again.',
        );
      });
    }
  }
}

async function insertTogether(target: DataSource, table: Table, rows: readonly StoredRow[]): Promise<void> {
  const { name, columns } = table;
  const names = columns.map((column) => `"${column.name}"`).join(', ');
  const records = rows.map((row) =>
    Object.fromEntries(columns.map((column) => [column.name, plainValue(row[column.name], column.type)])),
  );
  await target.query(
    `INSERT INTO "${name}" (${names}) SELECT ${names} FROM json_populate_recordset(NULL::"${name}", $1)`,
    [JSON.stringify(records)],
  );
}

/** Compares every row of both sides by its sum, and how many there are. Throws MoveError at the first difference. */
async function verifyTable(source: DataSource, target: DataSource, table: Table): Promise<VerifiedTable> {
  const sums = createHash('sha256');
  let rows = 0;
  for await (const batch of batchesOf(source, table)) {
    const present = await presentOf(target, table, batch);
    for (const row of batch) {
      const sum = rowSum(table, row);
      const moved = present.get(row[table.key]);
      if (!moved || rowSum(table, moved) !== sum) throw different(table, `the row ${String(row[table.key])}`);
      sums.update(sum);
    }
    rows += batch.length;
  }
  const [{ count }] = await target.query(`SELECT count(*)::int AS count FROM "${table.name}"`);
  if (count !== rows) throw different(table, 'the number of rows');
  return { table: table.name, rows, sha256: sums.digest('hex') };
}

function different({ name }: Table, what: string): MoveError {
  return new MoveError(
    `In the table ${name} ${what} is not the same on both sides: the SQLite file was changed since the move was begun, ` +
      'or somebody wrote to the PostgreSQL database. Make a new, empty one and run this again on it.',
  );
}
