import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sqlite3 from 'sqlite3';
import { ImportRun, Imports } from '../../src/exchange/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { startTestApp } from '../factories/app.js';
import type { BenchRow } from './engine.js';

/** Of the speed at which SQLite takes the very same rows, in batches of as many, with nothing else done. */
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

/** Processor time since `start` in milliseconds, the database's threads included: other work on the machine is left out. */
function processorMs(start: NodeJS.CpuUsage): number {
  const { user, system } = process.cpuUsage(start);
  return (user + system) / 1000;
}

function run(database: sqlite3.Database, sql: string): Promise<void> {
  return new Promise((done, failed) => {
    database.exec(sql, (error) => (error ? failed(error) : done()));
  });
}

/** The same rows into the same tables with the same indices, by prepared statements, a commit for every batch. */
async function rawInserts(schema: readonly string[], tables: readonly Table[]): Promise<number> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-raw-'));
  const database = new sqlite3.Database(join(folder, 'raw.sqlite'));
  try {
    await run(database, 'PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA secure_delete = ON;');
    for (const sql of schema) await run(database, sql);
    const start = process.cpuUsage();
    for (const { name, columns, rows } of tables) {
      const marks = columns.map(() => '?').join(', ');
      const statement = database.prepare(
        `INSERT INTO "${name}" (${columns.map((column) => `"${column}"`).join(', ')}) VALUES (${marks})`,
      );
      for (let i = 0; i < rows.length; i += BATCH) {
        await run(database, 'BEGIN');
        await Promise.all(
          rows.slice(i, i + BATCH).map(
            (row) =>
              new Promise<void>((done, failed) => {
                statement.run(row, (error) => (error ? failed(error) : done()));
              }),
          ),
        );
        await run(database, 'COMMIT');
      }
      await new Promise<void>((done) => {
        statement.finalize(() => done());
      });
    }
    return processorMs(start);
  } finally {
    await new Promise<void>((done) => {
      database.close(() => done());
    });
    await rm(folder, { recursive: true });
  }
}

/** What importing a sheet of clients costs in processor time beside what SQLite itself costs, and the memory it takes. */
export async function benchImports(rows = 100_000): Promise<BenchRow[]> {
  const test = await startTestApp();
  try {
    const imports = test.app.get(Imports, { strict: false });
    const begun = process.cpuUsage();
    const { id } = await imports.upload(
      test.salon.id,
      { kind: 'clients' },
      { name: 'sheet.csv', bytes: sheet(rows) },
      SYSTEM,
    );
    const uploadMs = processorMs(begun);
    globalThis.gc?.();
    const restBytes = process.memoryUsage().rss;
    let mostBytes = 0;
    const timed = async (pass: 'check' | 'run') => {
      const start = process.cpuUsage();
      await imports.runThrough(id, pass, SYSTEM, () => {
        mostBytes = Math.max(mostBytes, process.memoryUsage().rss);
      });
      return processorMs(start);
    };
    const checkMs = await timed('check');
    const importMs = await timed('run');
    const again = await imports.upload(
      test.salon.id,
      { kind: 'clients' },
      { name: 'sheet.csv', bytes: sheet(rows) },
      SYSTEM,
    );
    const start = process.cpuUsage();
    await imports.runThrough(again.id, 'run', SYSTEM);
    const againMs = processorMs(start);
    const { manager } = test.reader;
    const done = await manager.findOneByOrFail(ImportRun, { id });
    if (done.newRows !== rows)
      throw new Error(`Only ${done.newRows} of ${rows} rows were new: ${done.problem}`);
    const tables: Table[] = [];
    const schema: string[] = [];
    for (const name of ['client', 'imported_row']) {
      const found: Record<string, unknown>[] = await manager.query(`SELECT * FROM "${name}"`);
      const columns = Object.keys(found[0] ?? {});
      tables.push({ name, columns, rows: found.map((row) => columns.map((column) => row[column])) });
      const made: { sql: string }[] = await manager.query(
        `SELECT sql FROM sqlite_master WHERE tbl_name = '${name}' AND sql IS NOT NULL ORDER BY type DESC`,
      );
      schema.push(...made.map(({ sql }) => sql));
    }
    const rawMs = await rawInserts(schema, tables);
    const speed = (ms: number) => (rows / ms) * 1000;
    return [
      {
        name: `import: ${rows} rows handed in and looked through`,
        value: uploadMs,
        unit: 'ms',
        budget: null,
      },
      { name: 'import: rows checked', value: speed(checkMs), unit: 'rows/s', budget: null },
      { name: 'import: rows imported', value: speed(importMs), unit: 'rows/s', budget: null },
      {
        name: 'import: rows imported a second time',
        value: speed(againMs),
        unit: 'rows/s',
        budget: null,
      },
      {
        name: 'import: the same rows by SQLite alone',
        value: speed(rawMs),
        unit: 'rows/s',
        budget: null,
      },
      {
        name: 'import: time against SQLite alone',
        value: importMs / rawMs,
        unit: 'ratio',
        budget: MOST_TIMES,
      },
      {
        name: 'import: memory above rest, check and import',
        value: (mostBytes - restBytes) / MB,
        unit: 'MB',
        budget: MOST_MEMORY_MB,
      },
    ];
  } finally {
    await test.close();
  }
}
