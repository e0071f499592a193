import { execFile } from 'node:child_process';
import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import fc from 'fast-check';
import { MIGRATIONS } from '../../migrations/index.js';
import { DomainError } from '../../src/base/index.js';
import { Client } from '../../src/clients/index.js';
import { ENTITIES } from '../../src/entities.js';
import { verifyAudit } from '../../src/identity/index.js';
import {
  exportArchive,
  importArchive,
  type MadeBackup,
  makeBackup,
  newBackupKey,
  restoreBackup,
} from '../../src/keep/index.js';
import { exportedTables } from '../../src/keep/tables.js';
import { Photos } from '../../src/photos/index.js';
import { openSources, readSettings, SETTINGS, type Settings, type Sources } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { bareDatabase, type EmptyDatabase, emptyDatabase, isOnPostgres } from '../factories/database.js';
import { phonePicture } from '../factories/photos.js';
import { MARKS, type Marked, plantMarked } from '../factories/security.js';

jest.setTimeout(120_000);

const run = promisify(execFile);
const SIGNED_IN = new Set(['session', 'password_link', 'turn', 'request_key']);
const ANY_TEXT = fc.string({ unit: 'grapheme', maxLength: 40 }).filter((text) => !text.includes('\0'));

type Rows = Readonly<Record<string, readonly unknown[]>>;

/** Every row of every table through the entities, sealed words opened. */
async function everyRow({ reader }: Pick<Sources, 'reader'>): Promise<Rows> {
  const tables = reader.entityMetadatas.filter(({ tableName }) => !SIGNED_IN.has(tableName));
  const rows: Record<string, unknown[]> = {};
  for (const { target, tableName, columns, primaryColumns } of tables) {
    const select = Object.fromEntries(columns.map(({ propertyName }) => [propertyName, true]));
    const order = Object.fromEntries(primaryColumns.map(({ propertyName }) => [propertyName, 'ASC']));
    rows[tableName] = await reader.manager.find(target, { select, order });
  }
  return rows;
}

describe('the archive of everything', () => {
  let test: TestApp;
  let marked: Marked;
  let from: Sources;
  let settings: Settings;
  let folder: string;
  const opened: { sources: Sources; database: EmptyDatabase }[] = [];

  beforeAll(async () => {
    test = await startTestApp();
    marked = await plantMarked(test);
    settings = test.app.get(SETTINGS, { strict: false });
    from = { reader: test.reader.manager.connection, writer: test.reader.manager.connection };
    folder = await mkdtemp(join(tmpdir(), 'halfinch-export-'));
    await test.app
      .get(Photos, { strict: false })
      .add(
        { visitId: marked.visitId, angle: 'nape', moment: 'before' },
        await phonePicture('jpeg', { width: 400, height: 300 }),
        { accountId: null, role: 'owner' },
      );
  });
  afterAll(async () => {
    for (const { sources, database } of opened) {
      await sources.reader.destroy();
      await sources.writer.destroy();
      await database.drop();
    }
    await test.close();
    await rm(folder, { recursive: true });
  });

  /** An empty installation with a key of its own. */
  const fresh = async (): Promise<{ sources: Sources; settings: Settings }> => {
    const dataDir = await mkdtemp(join(folder, 'fresh-'));
    const database = await emptyDatabase(join(dataDir, 'halfinch.sqlite'));
    const sources = await openSources(database.database, ENTITIES, MIGRATIONS, {
      keyFile: join(dataDir, 'keys/health.key'),
    });
    opened.push({ sources, database });
    return { sources, settings: readSettings({ HALFINCH_DATA: dataDir }) };
  };
  const exported = async (lock = {}) =>
    await exportArchive({ sources: from, settings, folder, lock, now: test.clock.now() });

  it('comes back equal in every table of an empty installation, sealed with that one’s key', async () => {
    const key = await newBackupKey();
    const made = await exported({ recipients: [key.recipient] });
    const to = await fresh();
    const before = await everyRow(from);
    await importArchive({ ...to, file: made.path, opening: { identities: [key.identity] } });
    const after = await everyRow(to.sources);
    expect(Object.keys(after)).toEqual(Object.keys(before));
    for (const [name, rows] of Object.entries(before)) expect([name, after[name]]).toEqual([name, rows]);
    expect(Object.values(before).flat().length).toBeGreaterThan(40);
    expect(await verifyAudit(to.sources.reader.manager)).toMatchObject({ broken: null });
    const words = `SELECT "healthNotes" AS words FROM client WHERE "healthNotes" <> ''`;
    const [sealed] = await to.sources.reader.query<{ words: string }[]>(words);
    const [was] = await test.reader.manager.query<{ words: string }[]>(words);
    expect(sealed?.words).toMatch(/^sealed:1:[0-9a-f]{8}:/);
    // The id of another key.
    expect(sealed?.words.slice(0, 17)).not.toBe(was?.words.slice(0, 17));
    const [photo = ''] = await readdir(join(to.settings.dataDir, 'photos'));
    const stored = await readFile(join(to.settings.dataDir, 'photos', photo));
    expect(stored.subarray(0, 16).toString()).toBe('halfinch-sealed-');
    const again = importArchive({ ...to, file: made.path, opening: { identities: [key.identity] } });
    await expect(again).rejects.toMatchObject({ code: 'KEEP.NOT_EMPTY' });
  });

  it('can be read without Halfinch: lines of JSON, pictures, and a text that explains every column', async () => {
    const made = await exported();
    const into = await mkdtemp(join(folder, 'tar-'));
    await run('tar', ['-xzf', made.path, '-C', into]);
    const readme = await readFile(join(into, 'README.md'), 'utf8');
    for (const { tableName, columns } of exportedTables(from.reader)) {
      expect(readme).toContain(`## ${tableName}`);
      for (const { propertyPath } of columns) expect(readme).toContain(`\`${propertyPath}\``);
    }
    expect(readme).toMatch(/`healthNotes`: text.*sealed/);
    const clients = await readFile(join(into, 'tables/client/0001.jsonl'), 'utf8');
    const lines = clients
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line) as Record<string, unknown>);
    expect(lines.find(({ id }) => id === marked.clientId)).toMatchObject({ healthNotes: MARKS.health });
    const [picture = ''] = await readdir(join(into, 'photos'));
    // JPEG, ITU-T T.81 annex B: begins with SOI.
    expect((await readFile(join(into, 'photos', picture))).subarray(0, 3).toString('hex')).toBe('ffd8ff');
    expect(await readdir(join(into, 'tables'))).not.toContain('session');
  });

  it('keeps whatever words people write', async () => {
    await fc.assert(
      fc.asyncProperty(ANY_TEXT, ANY_TEXT, async (notes, healthNotes) => {
        await test.units.run(async (manager) => {
          await manager.update(Client, { id: marked.clientId }, { notes, healthNotes });
        });
        const made = await exported();
        const to = await fresh();
        await importArchive({ ...to, file: made.path, opening: {} });
        const client = await to.sources.reader.manager.findOneOrFail(Client, {
          where: { id: marked.clientId },
          select: { id: true, notes: true, healthNotes: true },
        });
        expect(client).toMatchObject({ notes, healthNotes });
      }),
      { numRuns: 6 },
    );
  });

  it('that is damaged leaves nothing behind', async () => {
    const made = await exported();
    const bytes = await readFile(made.path);
    const hurt = join(folder, 'hurt.tar.gz');
    await writeFile(hurt, bytes.subarray(0, bytes.length - 40));
    const to = await fresh();
    const empty = await everyRow(to.sources);
    const refused = await importArchive({ ...to, file: hurt, opening: {} }).catch((error: unknown) => error);
    expect(refused).toBeInstanceOf(DomainError);
    expect((refused as DomainError).code).toMatch(/^KEEP\.(CUT_SHORT|DAMAGED)$/);
    expect(await everyRow(to.sources)).toEqual(empty);
    await importArchive({ ...to, file: made.path, opening: {} });
    expect(await to.sources.reader.manager.count(Client)).toBe(await test.reader.manager.count(Client));
  });

  it('goes with a backup that the tools of the database make and bring back', async () => {
    const backups = join(folder, 'backups');
    const made = await makeBackup({ settings, folder: backups, lock: {}, now: test.clock.now() }).catch(
      (error: unknown) => error,
    );
    if (made instanceof DomainError) {
      // PostgreSQL's client programs are not on this machine, or are older than the server of the tests.
      expect(isOnPostgres()).toBe(true);
      expect(made.code).toMatch(/^KEEP\.TOOL_(MISSING|FAILED)$/);
      expect(made.message).toMatch(/pg_dump is not installed|server version mismatch/);
      expect(await readdir(backups).catch(() => [])).toEqual([]);
      return;
    }
    const dataDir = join(folder, 'restored');
    const bare = await bareDatabase(join(dataDir, 'halfinch.sqlite'));
    const to = { ...readSettings({ HALFINCH_DATA: dataDir }), database: bare.database };
    await restoreBackup({ settings: to, file: (made as MadeBackup).path, opening: {} });
    const again = restoreBackup({ settings: to, file: (made as MadeBackup).path, opening: {} });
    await expect(again).rejects.toMatchObject({ code: 'KEEP.NOT_EMPTY' });
    const sources = await openSources(bare.database, ENTITIES, MIGRATIONS, { keyFile: settings.keyFile });
    opened.push({ sources, database: bare });
    expect(await everyRow({ reader: sources.reader })).toEqual(await everyRow(from));
  });
});
