import { execFile } from 'node:child_process';
import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { jest } from '@jest/globals';
import sqlite3 from 'sqlite3';
import { operate } from '../../src/cli/program.js';

const run = promisify(execFile);

type Row = Record<string, unknown>;

/** Every row of every table of a SQLite file, in order of rowid, as the file has them. */
export async function everyRow(file: string): Promise<Record<string, Row[]>> {
  const database = new sqlite3.Database(file, sqlite3.OPEN_READONLY);
  const ask = (sql: string) =>
    new Promise<Row[]>((done, failed) => {
      database.all(sql, (error, rows) => (error ? failed(error) : done(rows as Row[])));
    });
  try {
    const tables = await ask("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name");
    const rows: Record<string, Row[]> = {};
    for (const { name } of tables)
      rows[String(name)] = await ask(`SELECT * FROM "${String(name)}" ORDER BY rowid`);
    return rows;
  } finally {
    await new Promise<void>((closed) => database.close(() => closed()));
  }
}

export type Ran = { readonly code: number | null; readonly stdout: string; readonly stderr: string };

/** Runs the operator's program from a compiled product. `fileBlocks` bounds every file it writes, in blocks of 512 bytes. */
export async function runOperator(
  product: string,
  args: readonly string[],
  { env = {}, fileBlocks }: { env?: Record<string, string>; fileBlocks?: number } = {},
): Promise<Ran> {
  const script = join(product, 'src/cli/halfinch.js');
  const options = { env: { PATH: process.env['PATH'], LOG_LEVEL: 'silent', ...env } as NodeJS.ProcessEnv };
  const started =
    fileBlocks === undefined
      ? run(process.execPath, [script, ...args], options)
      : // POSIX ulimit -f: files of this process and its children grow no further (EFBIG).
        run(
          'sh',
          ['-c', `ulimit -f ${fileBlocks} && exec "$@"`, 'sh', process.execPath, script, ...args],
          options,
        );
  return await started.then(
    ({ stdout, stderr }) => ({ code: 0, stdout, stderr }),
    (error: Ran) => ({ code: error.code, stdout: error.stdout, stderr: error.stderr }),
  );
}

/** Runs a command in this very process, which is quicker; what it prints is caught. */
export async function operateHere(args: readonly string[]): Promise<Ran> {
  const said = { stdout: '', stderr: '' };
  const caught = (where: keyof typeof said) => (text: unknown) => {
    said[where] += `${String(text)}\n`;
  };
  const log = jest.spyOn(console, 'log').mockImplementation(caught('stdout'));
  const error = jest.spyOn(console, 'error').mockImplementation(caught('stderr'));
  try {
    const code = await operate(args);
    return { code, ...said };
  } finally {
    log.mockRestore();
    error.mockRestore();
    process.exitCode = undefined;
  }
}

/** A folder in which this user cannot write: a closed one, or for root, whom that does not stop, one of the kernel's. */
export async function closedFolder(): Promise<{ readonly path: string; remove(): Promise<void> }> {
  const path = await mkdtemp(join(tmpdir(), 'halfinch-closed-'));
  const remove = () => rm(path, { recursive: true, force: true });
  const closed = join(path, 'closed');
  await mkdir(closed, { mode: 0o500 });
  const stopped = await writeFile(join(closed, 'probe'), '').then(
    () => false,
    () => true,
  );
  return { path: stopped ? closed : '/sys/kernel', remove };
}
