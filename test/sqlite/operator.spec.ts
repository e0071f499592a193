import { spawn } from 'node:child_process';
import { chmod, mkdir, mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from '@jest/globals';
import type { Command } from 'commander';
import { operatorProgram } from '../../src/cli/program.js';
import { faultsOf } from '../../src/keep/index.js';
import { compiledProduct } from '../browser/compiled.js';
import { closedFolder, everyRow, operateHere, type Ran, runOperator } from '../factories/keep.js';

const PATIENCE_MS = 120_000;

const byId = (rows: readonly Record<string, unknown>[] = []) =>
  [...rows].sort((one, other) => (String(one['id']) < String(other['id']) ? -1 : 1));

function leaves(command: Command): Command[] {
  return command.commands.length === 0 ? [command] : command.commands.flatMap(leaves);
}

describe("the operator's program", () => {
  let product: string;
  let folder: string;
  let data: string;
  let backup: string;
  /** What the backup holds. */
  let planted: Awaited<ReturnType<typeof everyRow>>;
  /** `--data` given again later counts. */
  const halfinch = (args: readonly string[]): Promise<Ran> => operateHere(['--data', data, ...args]);
  const withSmallFiles = (args: readonly string[], fileBlocks: number): Promise<Ran> =>
    runOperator(product, args, { env: { HALFINCH_DATA: data }, fileBlocks });

  beforeAll(async () => {
    product = await compiledProduct();
    folder = await mkdtemp(join(tmpdir(), 'halfinch-operator-'));
    data = join(folder, 'data');
    // Planting inside Jest's own module realm takes many times as long.
    const seeded = await runOperator(product, ['seed', '--clients', '8', '--json', '--data', data]);
    expect(JSON.parse(seeded.stdout)).toMatchObject({ ok: true, planted: true });
    planted = await everyRow(join(data, 'halfinch.sqlite'));
    const made = await halfinch(['backup', join(folder, 'backups'), '--json']);
    backup = (JSON.parse(made.stdout) as { path: string }).path;
  }, PATIENCE_MS);
  afterAll(async () => {
    await rm(folder, { recursive: true });
  });

  /** Starts a command and kills it, with no chance to tidy up, after so many milliseconds. */
  const killed = async (args: readonly string[], afterMs: number): Promise<void> => {
    const child = spawn(process.execPath, [join(product, 'src/cli/halfinch.js'), ...args], {
      stdio: 'ignore',
      env: { PATH: process.env['PATH'] },
    });
    const gone = new Promise((exited) => child.once('exit', exited));
    const timer = setTimeout(() => child.kill('SIGKILL'), afterMs);
    await gone;
    clearTimeout(timer);
  };

  it('explains every command with an example', () => {
    const commands = leaves(operatorProgram());
    const names = commands.map((command) => command.name());
    for (const name of [
      'serve',
      'worker',
      'migrate',
      'seed',
      'backup',
      'restore',
      'verify',
      'add',
      'export',
      'archive',
    ]) {
      expect(names).toContain(name);
    }
    for (const command of commands) {
      let help = '';
      command.configureOutput({
        writeOut: (text) => {
          help += text;
        },
      });
      command.outputHelp();
      expect(help).toMatch(/\nExamples?:\n {2}\$ .*halfinch /);
      expect(command.description().length).toBeGreaterThan(40);
    }
  });

  it('ends with 0, 1 or 2 and answers in JSON on request', async () => {
    const help = await halfinch(['--help']);
    expect(help.code).toBe(0);
    expect(help.stdout).toContain('Exit codes:');
    const unknown = await halfinch(['frobnicate']);
    expect(unknown).toMatchObject({ code: 2, stdout: '' });
    expect(unknown.stderr).toContain("unknown command 'frobnicate'");
    const failed = await halfinch(['verify', join(folder, 'nowhere'), '--json']);
    expect(failed.code).toBe(1);
    expect(JSON.parse(failed.stdout)).toMatchObject({ ok: false, error: { code: 'KEEP.NOT_FOUND' } });
    expect(failed.stderr).toBe('');
    const well = await halfinch(['verify']);
    expect(well).toMatchObject({ code: 0, stderr: '' });
    expect(well.stdout).toContain('All is well');
    const status = await halfinch(['migrate', '--status', '--json']);
    expect(JSON.parse(status.stdout)).toEqual({ ok: true, pending: [] });
  });

  it('adds a user who sets the password by the link, and once only under that address', async () => {
    const args = ['user', 'add', '--email', 'Nell@example.org', '--name', 'Nell Ardvar', '--role', 'desk'];
    const added = await halfinch([...args, '--json']);
    expect(JSON.parse(added.stdout)).toMatchObject({
      ok: true,
      account: { email: 'nell@example.org', role: 'desk', active: true },
      link: expect.stringMatching(/^http:\/\/localhost:4180\/new-password\?link=/),
    });
    const again = await halfinch(args);
    expect(again).toMatchObject({ code: 1, stdout: '' });
    expect(again.stderr).toContain('there is an account with this address already');
    const linked = await halfinch(['user', 'link', 'nell@example.org']);
    expect(linked.stdout).toContain('/new-password?link=');
    expect((await halfinch(['user', 'link', 'nobody@example.org'])).code).toBe(1);
    expect((await halfinch(['user', 'add', '--role', 'queen'])).code).toBe(2);
  });

  it(
    'says so when the disk is full, and leaves everything as it was',
    async () => {
      const before = await everyRow(join(data, 'halfinch.sqlite'));
      const into = join(folder, 'full');
      await mkdir(into);
      // Large enough to copy the database in, too small for nothing else; then too small for that.
      for (const fileBlocks of [64, 400]) {
        const full = await withSmallFiles(['backup', into], fileBlocks);
        expect(full.code).toBe(1);
        expect(full.stderr).toMatch(/^The backup stopped because the disk of .* (is full|may be full)/);
        expect(await readdir(into)).toEqual([]);
      }
      const there = join(folder, 'full-restore');
      const restored = await withSmallFiles(['restore', backup, '--data', there], 400);
      expect(restored.code).toBe(1);
      expect(restored.stderr).toMatch(/^The restore stopped because the disk of .* is full/);
      expect((await halfinch(['restore', backup, '--data', there])).code).toBe(0);
      const fresh = join(folder, 'full-migrate');
      const migrated = await withSmallFiles(['migrate', '--data', fresh], 64);
      expect(migrated.code).toBe(1);
      expect(migrated.stderr).toMatch(/disk of .* may be full/);
      expect((await runOperator(product, ['migrate', '--data', fresh])).code).toBe(0);
      expect(await faultsOf(join(fresh, 'halfinch.sqlite'))).toEqual([]);
      expect(await everyRow(join(data, 'halfinch.sqlite'))).toEqual(before);
      expect((await readdir(data)).filter((name) => name.startsWith('.'))).toEqual([]);
    },
    PATIENCE_MS,
  );

  it(
    'says so when a folder may not be written, and leaves everything as it was',
    async () => {
      const closed = await closedFolder();
      try {
        for (const args of [
          ['backup', join(closed.path, 'backups')],
          ['restore', backup, '--data', join(closed.path, 'data')],
          ['migrate', '--data', join(closed.path, 'data')],
        ]) {
          const refused = await halfinch(args);
          expect(refused.code).toBe(1);
          expect(refused.stderr).toMatch(/cannot be opened or written by this user.*run it again/s);
        }
        const astray = await halfinch(['backup', backup]);
        expect(astray).toMatchObject({ code: 1, stderr: expect.stringContaining('is a file, not a folder') });
      } finally {
        await chmod(closed.path, 0o700).catch(() => undefined);
        await closed.remove();
      }
    },
    PATIENCE_MS,
  );

  it(
    'can be killed at any moment of a backup, a restore or a migration and be run again',
    async () => {
      const file = join(data, 'halfinch.sqlite');
      const before = await everyRow(file);
      const into = join(folder, 'killed');
      // From before anything is opened to after everything is done, on a machine of any pace.
      const begun = Date.now();
      await halfinch(['backup', into]);
      const wholeMs = Date.now() - begun;
      for (const [i, share] of [0.7, 0.85, 0.97].entries()) {
        const there = join(folder, `killed-restore-${i}`);
        const fresh = join(folder, `killed-migrate-${i}`);
        await Promise.all([
          killed(['backup', into, '--data', data], share * wholeMs),
          killed(['restore', backup, '--data', there], share * wholeMs),
        ]);
        await killed(['migrate', '--data', fresh], share * wholeMs);
        for (const name of (await readdir(into)).filter((one) => one.endsWith('.gz'))) {
          expect((await halfinch(['verify', join(into, name)])).code).toBe(0);
          await rm(join(into, name));
        }
        const again = await halfinch(['restore', backup, '--data', there]);
        // Either it was cut short and is done now, or it had been done.
        expect([0, 1]).toContain(again.code);
        if (again.code === 1) expect(again.stderr).toContain('There is a database at');
        expect(await everyRow(join(there, 'halfinch.sqlite'))).toEqual(planted);
        expect(await halfinch(['migrate', '--data', fresh])).toMatchObject({ code: 0 });
        expect(await faultsOf(join(fresh, 'halfinch.sqlite'))).toEqual([]);
      }
      expect((await halfinch(['backup', into])).code).toBe(0);
      const left = [...(await readdir(into)), ...(await readdir(data))];
      expect(left.filter((name) => name.startsWith('.'))).toEqual([]);
      expect(await faultsOf(file)).toEqual([]);
      expect(await everyRow(file)).toEqual(before);
    },
    PATIENCE_MS,
  );

  it(
    'exports everything and imports it elsewhere, in clear only when told so',
    async () => {
      const into = join(folder, 'exports');
      const unsaid = await halfinch(['export', into]);
      expect(unsaid).toMatchObject({ code: 1, stderr: expect.stringContaining('or say --in-clear') });
      const made = await halfinch(['export', into, '--in-clear', '--json']);
      const { path, tables } = JSON.parse(made.stdout) as {
        path: string;
        tables: { name: string; rows: number }[];
      };
      expect(tables).toContainEqual(expect.objectContaining({ name: 'client', rows: 8 }));
      const there = join(folder, 'moved');
      const moved = await halfinch(['import', 'archive', path, '--data', there]);
      expect(moved.stdout).toMatch(/^Imported \d+ rows of \d+ tables/);
      expect(await faultsOf(join(there, 'halfinch.sqlite'))).toEqual([]);
      const stays = await everyRow(join(data, 'halfinch.sqlite'));
      const moves = await everyRow(join(there, 'halfinch.sqlite'));
      // Health words are sealed anew.
      expect(moves['client']).toHaveLength(stays['client']?.length ?? -1);
      for (const table of ['visit', 'appointment', 'claim', 'account', 'audit_entry']) {
        expect(byId(moves[table])).toEqual(byId(stays[table]));
      }
    },
    PATIENCE_MS,
  );

  it('opens an encrypted backup with the key file it prints', async () => {
    const printed = await halfinch(['backup', '--new-key']);
    const secret = join(folder, 'secret.txt');
    await writeFile(secret, printed.stdout, { mode: 0o600 });
    const [, recipient = ''] = /(age1\w+)/.exec(printed.stdout) ?? [];
    const made = await halfinch(['backup', join(folder, 'sealed'), '-r', recipient, '--json']);
    const { path } = JSON.parse(made.stdout) as { path: string };
    expect(path).toMatch(/\.tar\.gz\.age$/);
    expect((await halfinch(['verify', path, '--identity', secret])).code).toBe(0);
    const without = await halfinch(['verify', path]);
    expect(without).toMatchObject({ code: 1, stderr: expect.stringContaining('This file is encrypted') });
  });
});
