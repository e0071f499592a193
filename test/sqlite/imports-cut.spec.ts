import { spawn } from 'node:child_process';
import { cp, mkdtemp, readdir, rm, stat, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import { Imports } from '../../src/exchange/index.js';
import { SYSTEM } from '../../src/identity/index.js';
import { faultsOf } from '../../src/keep/index.js';
import { compiledProduct } from '../browser/compiled.js';
import { startTestApp } from '../factories/app.js';
import { handIn } from '../factories/exchange.js';
import { closedFolder, everyRow, type Ran, runOperator } from '../factories/keep.js';

const PATIENCE_MS = 240_000;
const ROWS = 6000;
const FIELDS = 'Client number,Name,Mail,Date of birth,Notes';

/** Every third row is somebody who stands in it twice, every fiftieth cannot be taken. */
function sheet(): string {
  const lines = Array.from({ length: ROWS }, (_, i) => {
    const n = i % 3 === 2 ? i - 1 : i;
    const birthday = i % 50 === 49 ? 'soon' : `19${60 + (n % 40)}-0${(n % 9) + 1}-1${n % 10}`;
    return `${i},Ada Lark${n.toString(36)},ada.${n}@example.org,${birthday},note ${i}`;
  });
  return [FIELDS, ...lines].join('\n');
}

/** What an import left, without the names and instants that every run makes anew. */
async function leftBy(data: string) {
  const file = join(data, 'halfinch.sqlite');
  expect(await faultsOf(file)).toEqual([]);
  const {
    client = [],
    imported_row = [],
    import_batch = [],
    import_run = [],
    audit_entry = [],
  } = await everyRow(file);
  const numbers = new Map(client.map(({ id }, i) => [id, i]));
  const plain = (row: Record<string, unknown>, ...names: readonly string[]) =>
    Object.fromEntries(Object.entries(row).filter(([name]) => !names.includes(name)));
  return {
    clients: client.map((row) => plain(row, 'id', 'addedAt', 'salonId', 'preferredStaffId', 'healthNotes')),
    rows: imported_row.map((row) => ({
      ...plain(row, 'id', 'salonId', 'runId', 'takenAt', 'subjectId'),
      clientId: numbers.get(row['clientId']),
    })),
    batches: import_batch.map((row) => ({
      ...plain(row, 'id', 'runId'),
      lines: String(row['lines']).replace(/"[0-9a-f]{8}-[0-9a-f-]{27}"/g, 'id'),
    })),
    runs: import_run.map(({ state, rowsDone, newRows, changedRows, sameRows, refusedRows }) => ({
      state,
      rowsDone,
      newRows,
      changedRows,
      sameRows,
      refusedRows,
    })),
    batchesOnTrail: audit_entry.filter(({ action }) => action === 'import.batch').length,
  };
}

describe('an import that is cut short', () => {
  let product: string;
  let folder: string;
  let seeded: string;
  let file: string;
  let whole: Awaited<ReturnType<typeof leftBy>>;

  const halfinch = (data: string, args: readonly string[], fileBlocks?: number): Promise<Ran> =>
    runOperator(product, [...args, '--json'], {
      env: { HALFINCH_DATA: data },
      ...(fileBlocks !== undefined && { fileBlocks }),
    });
  const fresh = async (name: string): Promise<string> => {
    const data = join(folder, name);
    await cp(seeded, data, { recursive: true });
    return data;
  };
  const runOf = async (data: string) => {
    const { import_run = [] } = await everyRow(join(data, 'halfinch.sqlite'));
    return import_run[0] as { id: string; rowsDone: number; state: string } | undefined;
  };

  beforeAll(async () => {
    product = await compiledProduct();
    folder = await mkdtemp(join(tmpdir(), 'halfinch-imports-'));
    seeded = join(folder, 'seeded');
    await runOperator(product, ['seed', '--clients', '4', '--json', '--data', seeded]);
    file = join(folder, 'clients.csv');
    await writeFile(file, sheet());
    const undisturbed = await fresh('whole');
    const done = await halfinch(undisturbed, ['import', 'file', 'clients', file]);
    expect(JSON.parse(done.stdout)).toMatchObject({ state: 'done', counts: { refused: ROWS / 50 } });
    // Rows were refused: that is told by the exit code.
    expect(done.code).toBe(1);
    whole = await leftBy(undisturbed);
  }, PATIENCE_MS);
  afterAll(async () => {
    await rm(folder, { recursive: true });
  });

  /** Goes on as soon as whoever was killed is taken to be gone. */
  const resumed = async (data: string): Promise<Ran> => {
    const { id = '' } = (await runOf(data)) ?? {};
    for (;;) {
      const ran = await halfinch(data, ['import', 'resume', id]);
      if (!ran.stdout.includes('IMPORT.BUSY')) return ran;
      await new Promise((later) => setTimeout(later, 500));
    }
  };

  it(
    'by a kill goes on where it was, and ends as if nothing had been',
    async () => {
      const data = await fresh('killed');
      const kill = async (args: readonly string[], atRow: number) => {
        const child = spawn(process.execPath, [join(product, 'src/cli/halfinch.js'), ...args], {
          stdio: 'ignore',
          env: { PATH: process.env['PATH'], HALFINCH_DATA: data },
        });
        const gone = new Promise((exited) => child.once('exit', exited));
        while (((await runOf(data))?.rowsDone ?? 0) < atRow && child.exitCode === null) {
          await new Promise((later) => setTimeout(later, 20));
        }
        child.kill('SIGKILL');
        await gone;
      };
      await kill(['import', 'file', 'clients', file], 1000);
      const run = await runOf(data);
      expect(run).toMatchObject({ state: 'running' });
      expect(run?.rowsDone).toBeGreaterThanOrEqual(1000);
      expect(run?.rowsDone).toBeLessThan(ROWS);
      expect(await faultsOf(join(data, 'halfinch.sqlite'))).toEqual([]);
      const ended = await resumed(data);
      expect(JSON.parse(ended.stdout)).toMatchObject({ state: 'done' });
      expect(await leftBy(data)).toEqual(whole);
    },
    PATIENCE_MS,
  );

  it(
    'by a full disk says so, keeps what is whole, and goes on when there is room',
    async () => {
      const data = await fresh('full');
      const { size } = await stat(join(data, 'halfinch.sqlite'));
      // Room for the sheet and some of its rows.
      const full = await halfinch(data, ['import', 'file', 'clients', file], Math.ceil(size / 512) + 1200);
      expect(full.code).toBe(1);
      expect(full.stdout).toMatch(/disk .*(full|quota|read or written)/);
      const run = await runOf(data);
      expect(run?.rowsDone).toBeLessThan(ROWS);
      expect(await faultsOf(join(data, 'halfinch.sqlite'))).toEqual([]);
      await resumed(data);
      expect(await leftBy(data)).toEqual(whole);
      // No room for the sheet itself: nothing of it is left.
      const tight = await fresh('tight');
      const refused = await halfinch(tight, ['import', 'file', 'clients', file], 100);
      expect(refused.code).toBe(1);
      expect(await readdir(join(tight, 'imports')).catch(() => [])).toEqual([]);
    },
    PATIENCE_MS,
  );

  it(
    'in a folder that may not be written is refused before anything happens',
    async () => {
      const data = await fresh('closed');
      const closed = await closedFolder();
      try {
        await symlink(closed.path, join(data, 'imports'));
        const refused = await halfinch(data, ['import', 'file', 'clients', file]);
        expect(refused.code).toBe(1);
        expect(JSON.parse(refused.stdout)).toMatchObject({
          ok: false,
          error: {
            code: 'IMPORT.NO_FOLDER',
            message: expect.stringMatching(/cannot be written to.*writable/),
          },
        });
        expect(await runOf(data)).toBeUndefined();
      } finally {
        await closed.remove();
      }
    },
    PATIENCE_MS,
  );

  it(
    'by a database that may not be written says so, and goes on when it may',
    async () => {
      const test = await startTestApp();
      try {
        const imports = test.app.get(Imports, { strict: false });
        const { id } = await handIn(test, 'clients', 'Name\nAda Lark\nBo Wren\n');
        const shut = (to: 'ON' | 'OFF') =>
          test.units.run((manager) => manager.query(`PRAGMA query_only = ${to}`));
        await shut('ON');
        await expect(imports.runThrough(id, 'run', SYSTEM)).rejects.toMatchObject({
          code: 'IMPORT.HALTED',
          message: expect.stringMatching(/database cannot be written to.*made writable/),
        });
        await expect(handIn(test, 'clients', 'Name\nAda Lark\n')).rejects.toMatchObject({
          code: 'IMPORT.HALTED',
        });
        await shut('OFF');
        expect(await imports.runThrough(id, 'run', SYSTEM)).toMatchObject({ state: 'done', newRows: 2 });
      } finally {
        await test.close();
      }
    },
    PATIENCE_MS,
  );
});
