import { type ChildProcess, spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals';
import { Client } from 'pg';
import type { DataSource } from 'typeorm';
import { MIGRATIONS } from '../../migrations/index.js';
import { projectRoot } from '../../src/base/index.js';
import { ENTITIES } from '../../src/entities.js';
import { openWriter, writerSource } from '../../src/store/index.js';
import { barePostgres, type EmptyDatabase } from '../factories/database.js';
import { fillEveryTable } from '../factories/filled.js';

jest.setTimeout(120_000);

const ROWS = 12;
const AUDIT_ROWS = 8_000;

type Row = Record<string, unknown>;

describe('moving from SQLite to PostgreSQL', () => {
  let folder: string;
  let file: string;
  let tables: string[];
  let target: EmptyDatabase;
  const open: { end(): Promise<void> }[] = [];

  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'halfinch-move-'));
    file = join(folder, 'halfinch.sqlite');
    const source = await writerSource(file, ENTITIES, MIGRATIONS).initialize();
    await source.runMigrations();
    await fillEveryTable(source, ROWS, { audit_entry: AUDIT_ROWS });
    tables = source.entityMetadatas.map(({ tableName }) => tableName).sort();
    await source.destroy();
  });

  beforeEach(async () => {
    target = await barePostgres();
  });

  afterEach(async () => {
    for (const one of open.splice(0)) await one.end();
    await target.drop();
  });

  afterAll(() => rm(folder, { recursive: true }));

  const start = (): { readonly child: ChildProcess; readonly done: Promise<string>; said(): string } => {
    const child = spawn(
      process.execPath,
      [join(projectRoot(), 'dist/src/cli/halfinch.js'), 'move-to-postgres'],
      {
        env: { PATH: process.env['PATH'], HALFINCH_DATA: folder, DATABASE_URL: target.database },
      },
    );
    let said = '';
    const hear = (chunk: Buffer) => {
      said += chunk.toString();
    };
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    const done = new Promise<string>((exited) => {
      child.once('close', (code, signal) => exited(signal ?? `${code}`));
    });
    return { child, done, said: () => said };
  };
  const ask = async (): Promise<Client> => {
    const client = new Client({ connectionString: target.database });
    await client.connect();
    open.push(client);
    return client;
  };
  const digest = async () =>
    createHash('sha256')
      .update(await readFile(file))
      .digest('hex');
  const inTarget = async (sql: string): Promise<Row[]> => (await (await ask()).query(sql)).rows as Row[];

  /** Both sides read by this spec's own means: what SQLite calls 1 PostgreSQL may call true, or "1" where it is long. */
  const differences = async (): Promise<string[]> => {
    const client = await ask();
    const source: DataSource = await writerSource(file, ENTITIES, []).initialize();
    open.push({ end: () => source.destroy() });
    const found: string[] = [];
    for (const table of tables) {
      const ours: Row[] = await source.query(`SELECT * FROM "${table}"`);
      const { rows: theirs } = await client.query<Row>(`SELECT * FROM "${table}"`);
      const key = 'id' in (ours[0] ?? {}) ? 'id' : 'name';
      const byKey = new Map(theirs.map((row) => [row[key], row]));
      if (ours.length !== theirs.length) found.push(`${table}: ${ours.length} and ${theirs.length}`);
      for (const row of ours) {
        const other = byKey.get(row[key]);
        for (const [name, value] of Object.entries(row)) {
          const its = other?.[name];
          const alike =
            typeof its === 'boolean' ? Number(its) : typeof value === 'number' ? Number(its) : its;
          if (alike !== value) found.push(`${table}.${name}: ${String(value)} and ${String(its)}`);
        }
      }
    }
    return found;
  };

  it('carries every row of every table as it is, goes on after a kill, and leaves the source alone', async () => {
    const before = await digest();
    const first = start();
    const client = await ask();
    const moved = async (): Promise<number> => {
      const { rows } = await client
        .query<{ count: number }>('SELECT count(*)::int AS count FROM audit_entry')
        .catch(() => ({ rows: [{ count: 0 }] }));
      return rows[0]?.count ?? 0;
    };
    while ((await moved()) === 0) await new Promise((later) => setTimeout(later, 2));
    first.child.kill('SIGKILL');
    expect(await first.done).toBe('SIGKILL');
    const halfWay = await moved();
    expect(halfWay).toBeGreaterThan(0);
    expect(halfWay).toBeLessThan(AUDIT_ROWS);
    await expect(openWriter(target.database, ENTITIES, MIGRATIONS)).rejects.toThrow(
      'not all of them are there',
    );

    const second = start();
    expect([await second.done, second.said()]).toEqual(['0', expect.stringContaining('same on both sides')]);
    expect(second.said()).toContain(
      `audit_entry: ${AUDIT_ROWS} rows, ${AUDIT_ROWS - halfWay} of them moved now`,
    );
    expect(await differences()).toEqual([]);
    expect(await digest()).toBe(before);
    const writer = await openWriter(target.database, ENTITIES, MIGRATIONS);
    await writer.destroy();
  });

  it('refuses a database with anything foreign in it and touches nothing of it', async () => {
    await inTarget('CREATE TABLE recipe (name text)');
    const run = start();
    expect([await run.done, run.said()]).toEqual(['1', expect.stringContaining('is not empty (recipe)')]);
    const present = await inTarget(`SELECT tablename FROM pg_tables WHERE schemaname = 'public'`);
    expect(present).toEqual([{ tablename: 'recipe' }]);
  });

  it('refuses a target in which a moved row is no longer what it was', async () => {
    const writer = await openWriter(target.database, ENTITIES, MIGRATIONS);
    await writer.query('CREATE TABLE unfinished_move ("begunAt" timestamptz NOT NULL DEFAULT now())');
    const source = await writerSource(file, ENTITIES, []).initialize();
    const [turn]: { name: string }[] = await source.query('SELECT name FROM turn LIMIT 1');
    await source.destroy();
    await writer.query('INSERT INTO turn (name, "takenAt") VALUES ($1, 42)', [turn?.name]);
    await writer.destroy();
    const run = start();
    expect([await run.done, run.said()]).toEqual(['1', expect.stringContaining('In the table turn the row')]);
    expect(await inTarget(`SELECT to_regclass('unfinished_move')::text AS mark`)).toEqual([
      { mark: 'unfinished_move' },
    ]);
  });
});
