import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Client } from 'pg';
import sqlite3 from 'sqlite3';
import type { EntityManager } from 'typeorm';
import { ImportRun, Imports } from '../../src/exchange/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { startTestApp } from '../factories/app.js';
import { emptyDatabase, isOnPostgres } from '../factories/database.js';
import { processorMs } from './processor.js';
import { type BenchOptions, type BenchRow, spreadRow } from './row.js';

/** Of the speed at which the database takes the very same rows, in batches of as many, with nothing else done. */
const MOST_TIMES = 3;
const MOST_MEMORY_MB = 150;
const BATCH = 500;
const MB = 1024 * 1024;

const GIVEN = ['Ada', 'Bo', 'Cleo', 'Dara', 'Edie', 'Fenn', 'Gus', 'Hedy', 'Ivo', 'Juno'];
const FAMILY = ['Lark', 'Wren', 'Finch', 'Heron', 'Swift', 'Martin', 'Plover', 'Teal', 'Rook', 'Dunlin'];

/** Birthdays spread over seventy years. */
function dayOf(n: number): string {
  const at = new Date(Date.UTC(1940, 0, 1 + ((n * 7919) % 25_000)));
  const two = (part: number) => String(part).padStart(2, '0');
  return `${two(at.getUTCDate())}/${two(at.getUTCMonth() + 1)}/${at.getUTCFullYear()}`;
}

/** A salon's sheet of so many clients; every name is invented, every phone a number nobody has. */
async function* sheet(rows: number): AsyncGenerator<Uint8Array> {
  yield Buffer.from('Client number,First name,Last name,Mobile,E-mail,Date of birth,Notes\r\n');
  for (let i = 0; i < rows; i += BATCH) {
    let text = '';
    for (let n = i; n < Math.min(rows, i + BATCH); n += 1) {
      const given = GIVEN[n % 10] ?? '';
      const family = `${FAMILY[Math.floor(n / 10) % 10]}${n.toString(36)}`;
      // Ofcom's numbers for drama are a thousand: most rows have none.
      const phone = n % 100 === 0 ? `07700 900${String((n / 100) % 1000).padStart(3, '0')}` : '';
      const born = `${dayOf(n)}`;
      text += `${n},${given},${family},${phone},${given}.${n}@example.org,${born},"likes it short, ${n}"\r\n`;
    }
    yield Buffer.from(text);
  }
}

type Table = { readonly name: string; readonly columns: string[]; readonly rows: unknown[][] };

/** The bare driver, on a database of its own. */
type Bare = {
  exec(sql: string): Promise<unknown>;
  /** Inserts rows one by one with one prepared statement. */
  insert(table: Table, rows: readonly unknown[][]): Promise<unknown>;
  close(): Promise<void>;
};

const named = ({ columns }: Table) => columns.map((column) => `"${column}"`).join(', ');

async function bareSqlite(schema: readonly string[]): Promise<Bare> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-raw-'));
  const database = new sqlite3.Database(join(folder, 'raw.sqlite'));
  const exec = (sql: string) =>
    new Promise<void>((done, failed) => {
      database.exec(sql, (error) => (error ? failed(error) : done()));
    });
  await exec('PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA secure_delete = ON;');
  for (const sql of schema) await exec(sql);
  const statements = new Map<string, sqlite3.Statement>();
  const prepared = (table: Table): sqlite3.Statement => {
    const known = statements.get(table.name);
    if (known) return known;
    const marks = table.columns.map(() => '?').join(', ');
    const statement = database.prepare(`INSERT INTO "${table.name}" (${named(table)}) VALUES (${marks})`);
    statements.set(table.name, statement);
    return statement;
  };
  return {
    exec,
    insert: (table, rows) =>
      Promise.all(
        rows.map(
          (row) =>
            new Promise<void>((done, failed) => {
              prepared(table).run(row, (error) => (error ? failed(error) : done()));
            }),
        ),
      ),
    close: async () => {
      for (const statement of statements.values()) {
        await new Promise<void>((done) => {
          statement.finalize(() => done());
        });
      }
      await new Promise<void>((done) => {
        database.close(() => done());
      });
      await rm(folder, { recursive: true });
    },
  };
}

/** Migrated like ours, but foreign keys and triggers are not looked at. */
async function barePostgres(): Promise<Bare> {
  const { database, drop } = await emptyDatabase('');
  const client = new Client({ connectionString: database });
  await client.connect();
  await client.query('SET session_replication_role = replica');
  return {
    exec: (sql) => client.query(sql),
    insert: async (table, rows) => {
      const marks = table.columns.map((_, i) => `$${i + 1}`).join(', ');
      const text = `INSERT INTO "${table.name}" (${named(table)}) VALUES (${marks})`;
      for (const values of rows) await client.query({ name: table.name, text, values });
    },
    close: async () => {
      await client.end();
      await drop();
    },
  };
}

/** What the import wrote, and on SQLite the schema of the tables it wrote to. */
async function written(manager: EntityManager): Promise<{ tables: Table[]; schema: string[] }> {
  const tables: Table[] = [];
  const schema: string[] = [];
  for (const name of ['client', 'imported_row']) {
    const found: Record<string, unknown>[] = await manager.query(`SELECT * FROM "${name}"`);
    const columns = Object.keys(found[0] ?? {});
    tables.push({ name, columns, rows: found.map((row) => columns.map((column) => row[column])) });
    if (isOnPostgres()) continue;
    const made: { sql: string }[] = await manager.query(
      `SELECT sql FROM sqlite_master WHERE tbl_name = '${name}' AND sql IS NOT NULL ORDER BY type DESC`,
    );
    schema.push(...made.map(({ sql }) => sql));
  }
  return { tables, schema };
}

/** The same rows into the same tables with the same indices, by prepared statements, a commit for every batch. */
async function rawInserts(manager: EntityManager): Promise<number> {
  const { tables, schema } = await written(manager);
  const bare = await (isOnPostgres() ? barePostgres() : bareSqlite(schema));
  try {
    return await processorMs(async () => {
      for (const table of tables) {
        for (let i = 0; i < table.rows.length; i += BATCH) {
          await bare.exec('BEGIN');
          await bare.insert(table, table.rows.slice(i, i + BATCH));
          await bare.exec('COMMIT');
        }
      }
    });
  } finally {
    await bare.close();
  }
}

type Round = Readonly<Record<'uploadMs' | 'checkMs' | 'importMs' | 'againMs' | 'rawMs' | 'gainedMb', number>>;

async function roundOf(rows: number): Promise<Round> {
  const test = await startTestApp();
  try {
    const imports = test.app.get(Imports, { strict: false });
    const handIn = () =>
      imports.upload(test.salon.id, { kind: 'clients' }, { name: 'sheet.csv', bytes: sheet(rows) }, SYSTEM);
    let id = '';
    const uploadMs = await processorMs(async () => {
      ({ id } = await handIn());
    });
    globalThis.gc?.();
    const restBytes = process.memoryUsage().rss;
    let mostBytes = restBytes;
    const timed = (pass: 'check' | 'run', of = id) =>
      processorMs(() =>
        imports.runThrough(of, pass, SYSTEM, () => {
          mostBytes = Math.max(mostBytes, process.memoryUsage().rss);
        }),
      );
    const checkMs = await timed('check');
    const importMs = await timed('run');
    const gainedMb = (mostBytes - restBytes) / MB;
    const againMs = await timed('run', (await handIn()).id);
    const { manager } = test.reader;
    const done = await manager.findOneByOrFail(ImportRun, { id });
    if (done.newRows !== rows)
      throw new Error(`Only ${done.newRows} of ${rows} rows were new: ${done.problem}`);
    return { uploadMs, checkMs, importMs, againMs, rawMs: await rawInserts(manager), gainedMb };
  } finally {
    await test.close();
  }
}

/**
 * What importing a sheet of clients costs in processor time beside what the database itself costs, and the memory it
 * takes. `BENCH_ROWS=100000` is the large sheet, once; without it a tenth of that several times.
 */
export async function benchImports({ quick }: BenchOptions): Promise<BenchRow[]> {
  const large = process.env['BENCH_ROWS'];
  const rows = quick ? 2000 : Number(large ?? 10_000);
  // The first round of a small sheet only warms up.
  const warm = large === undefined ? 1 : 0;
  const rounds: Round[] = [];
  for (let i = 0; i < (large === undefined && !quick ? 5 : 1) + warm; i += 1) {
    const round = await roundOf(rows);
    if (i >= warm) rounds.push(round);
  }
  const of = (name: keyof Round) => rounds.map((round) => round[name]);
  const speed = (name: keyof Round) => of(name).map((ms) => (rows / ms) * 1000);
  return [
    spreadRow(`import: ${rows} rows handed in and looked through`, of('uploadMs'), 'ms'),
    spreadRow('import: rows checked', speed('checkMs'), 'rows/s'),
    spreadRow('import: rows imported', speed('importMs'), 'rows/s'),
    spreadRow('import: rows imported a second time', speed('againMs'), 'rows/s'),
    spreadRow('import: the same rows by the database alone', speed('rawMs'), 'rows/s'),
    spreadRow(
      'import / the database alone, processor time',
      rounds.map(({ importMs, rawMs }) => importMs / rawMs),
      'ratio',
      MOST_TIMES,
    ),
    spreadRow('import: memory above rest, check and import', of('gainedMb'), 'MB', MOST_MEMORY_MB),
  ];
}
