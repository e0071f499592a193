import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import fc from 'fast-check';
import { DomainError } from '../../src/base/index.js';
import { BackupSchedule } from '../../src/jobs/index.js';
import {
  type BackupManifest,
  forgetExpired,
  keptIn,
  makeBackup,
  newBackupKey,
  restoreBackup,
  verifyBackup,
} from '../../src/keep/index.js';
import { Photos } from '../../src/photos/index.js';
import { readSettings, SETTINGS, type Settings, Turns } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { everyRow } from '../factories/keep.js';
import { phonePicture } from '../factories/photos.js';

const run = promisify(execFile);
const HEALTH = 'Wears a hearing aid on the left';
const HOUR_MS = 3_600_000;

/** Code of the refusal, or 'none'. */
async function codeOf(work: Promise<unknown>): Promise<string> {
  return await work.then(
    () => 'none',
    (error: unknown) => {
      if (error instanceof DomainError) return error.code;
      throw error;
    },
  );
}

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

describe('backups', () => {
  let test: TestApp;
  let settings: Settings;
  let folder: string;
  let key: Awaited<ReturnType<typeof newBackupKey>>;
  let plain: string;
  let sealed: string;

  beforeAll(async () => {
    test = await startTestApp();
    settings = test.app.get(SETTINGS, { strict: false });
    folder = await mkdtemp(join(tmpdir(), 'halfinch-backups-'));
    key = await newBackupKey();
    const client = await test.ask('stylist', 'POST', '/api/v1/clients', {
      givenName: 'Odile',
      healthNotes: HEALTH,
    });
    const clientId = (client.body as { client: { id: string } }).client.id;
    const visit = await test.ask('stylist', 'POST', '/api/v1/visits', {
      clientId,
      staffId: test.mara.id,
      serviceId: test.fullCut.id,
    });
    const visitId = (visit.body as { visit: { id: string } }).visit.id;
    await test.app
      .get(Photos, { strict: false })
      .add(
        { visitId, angle: 'nape', moment: 'before' },
        await phonePicture('jpeg', { width: 400, height: 300 }),
        {
          accountId: null,
          role: 'owner',
        },
      );
    await writeFile(join(settings.dataDir, 'links.key'), 'a key for links\n');
    plain = (await makeBackup({ settings, folder, lock: {}, now: test.clock.now() })).path;
    sealed = (
      await makeBackup({ settings, folder, lock: { recipients: [key.recipient] }, now: test.clock.now() })
    ).path;
  });
  afterAll(async () => {
    await test.close();
    await rm(folder, { recursive: true });
  });

  const freshSettings = async (): Promise<Settings> =>
    readSettings({ HALFINCH_DATA: join(await mkdtemp(join(folder, 'fresh-')), 'data') });
  const opening = () => ({ identities: [key.identity] });

  it('are archives that GNU tar unpacks, with the checksums of their manifest', async () => {
    const into = await mkdtemp(join(folder, 'tar-'));
    await run('tar', ['-xzf', plain, '-C', into]);
    const manifest = JSON.parse(await readFile(join(into, 'manifest.json'), 'utf8')) as BackupManifest;
    const names = (await readdir(join(into, 'photos'))).map((name) => `photos/${name}`);
    expect(names).toHaveLength(1);
    expect(manifest.files.map(({ path }) => path)).toEqual([
      'README.txt',
      'halfinch.sqlite',
      'links.key',
      ...names,
    ]);
    for (const { path, bytes, sha256 } of manifest.files) {
      const content = await readFile(join(into, path));
      expect(content.length).toBe(bytes);
      expect(createHash('sha256').update(content).digest('hex')).toBe(sha256);
      expect(content.includes(HEALTH)).toBe(false);
    }
    expect(manifest).toMatchObject({ format: 'halfinch-backup', madeAt: '2026-06-01T08:00:00.000Z' });
    expect(manifest.keys).toHaveLength(1);
  });

  it('say when they are whole, and when the wrong key or none is tried', async () => {
    const scratch = folder;
    expect(await verifyBackup({ file: plain, opening: {}, scratch })).toMatchObject({
      database: { rows: { client: 1, photo: 1 } },
    });
    expect(await codeOf(verifyBackup({ file: sealed, opening: opening(), scratch }))).toBe('none');
    expect(await codeOf(verifyBackup({ file: sealed, opening: {}, scratch }))).toBe('KEEP.KEY_NEEDED');
    const other = await newBackupKey();
    const wrong = { identities: [other.identity] };
    expect(await codeOf(verifyBackup({ file: sealed, opening: wrong, scratch }))).toBe('KEEP.WRONG_KEY');
    expect((await readFile(sealed)).subarray(0, 21).toString()).toBe('age-encryption.org/v1');
  });

  it('open with the passphrase they were made with and with no other', async () => {
    const now = test.clock.now() + 1000;
    const { path } = await makeBackup({
      settings,
      folder,
      lock: { passphrase: 'eight plain words', workFactor: 10 },
      now,
    });
    const verify = (passphrase: string) =>
      verifyBackup({ file: path, opening: { passphrase }, scratch: folder });
    expect(await codeOf(verify('eight plain words'))).toBe('none');
    expect(await codeOf(verify('eight plain word'))).toBe('KEEP.WRONG_KEY');
    await rm(path);
  });

  it('bring everything back into a fresh folder, and write over nothing', async () => {
    const fresh = await freshSettings();
    await restoreBackup({ settings: fresh, file: sealed, opening: opening() });
    expect(await everyRow(fresh.database)).toEqual(await everyRow(settings.database));
    for (const part of ['photos', '.']) {
      const names = (await readdir(join(fresh.dataDir, part), { withFileTypes: true })).filter((one) =>
        one.isFile(),
      );
      for (const { name } of names.filter((one) => !one.name.startsWith('halfinch.sqlite'))) {
        const was = await readFile(join(settings.dataDir, part, name));
        expect((await readFile(join(fresh.dataDir, part, name))).equals(was)).toBe(true);
      }
    }
    expect((await readdir(fresh.dataDir)).sort()).toEqual(['halfinch.sqlite', 'links.key', 'photos']);
    const before = await readFile(fresh.database);
    const again = restoreBackup({ settings: fresh, file: plain, opening: {} });
    expect(await codeOf(again)).toBe('KEEP.NOT_EMPTY');
    expect((await readFile(fresh.database)).equals(before)).toBe(true);
  });

  it('refuse a folder with photographs, but take over one where a restore was cut short', async () => {
    const fresh = await freshSettings();
    const stray = join(fresh.dataDir, 'photos', 'stray.jpg');
    await mkdir(join(fresh.dataDir, 'photos'), { recursive: true });
    await writeFile(stray, 'a picture');
    expect(await codeOf(restoreBackup({ settings: fresh, file: plain, opening: {} }))).toBe('KEEP.NOT_EMPTY');
    expect(await readFile(stray, 'utf8')).toBe('a picture');
    await writeFile(join(fresh.dataDir, 'restore-under-way'), '');
    expect(await codeOf(restoreBackup({ settings: fresh, file: plain, opening: {} }))).toBe('none');
    expect(await everyRow(fresh.database)).toEqual(await everyRow(settings.database));
  });

  it('that were changed or cut short anywhere are refused, or hold the very same', async () => {
    const file = join(folder, 'hurt.bin');
    for (const [whole, opens] of [
      [plain, {}],
      [sealed, opening()],
    ] as const) {
      const bytes = await readFile(whole);
      const good = await verifyBackup({ file: whole, opening: opens, scratch: folder });
      const codes = new Set<string>();
      const check = async (hurt: Buffer) => {
        await writeFile(file, hurt);
        const result = await verifyBackup({ file, opening: opens, scratch: folder }).catch(
          (error: unknown) => error,
        );
        if (!(result instanceof DomainError)) expect(result).toEqual(good);
        else codes.add(result.code);
        return result instanceof DomainError;
      };
      await fc.assert(
        fc.asyncProperty(fc.nat(bytes.length - 1), fc.integer({ min: 1, max: 255 }), async (at, by) => {
          const hurt = Buffer.from(bytes);
          hurt[at]! ^= by;
          const refused = await check(hurt);
          // Some bits of a gzip file say nothing of what is in it (RFC 1951, 1952); every byte of an age file counts.
          expect(refused || whole === plain).toBe(true);
        }),
        { numRuns: 12 },
      );
      await fc.assert(
        fc.asyncProperty(fc.nat(bytes.length - 1), async (length) => {
          expect(await check(bytes.subarray(0, length))).toBe(true);
        }),
        { numRuns: 8 },
      );
      // The head of an age file is text that its reader takes apart in many ways.
      for (let at = 0; whole === sealed && at < 200; at += 1) {
        const hurt = Buffer.from(bytes);
        hurt[at]! ^= 8;
        expect(await check(hurt)).toBe(true);
      }
      for (const code of codes)
        expect(code).toMatch(/^KEEP\.(CUT_SHORT|DAMAGED|NOT_AN_ARCHIVE|WRONG_KEY|KEY_NEEDED)$/);
    }
  });

  it('hold one instant of a database that is written to meanwhile', async () => {
    let writing = true;
    let written = 0;
    const writer = (async () => {
      while (writing) {
        written += 1;
        const end = String(written % 100).padStart(2, '0');
        await test.units.run(async (manager) => {
          await manager.query('UPDATE client SET "notes" = ?', [`note ${written}`]);
          await manager.query('UPDATE salon SET "phone" = ?', [`+4420794603${end}`]);
        });
      }
    })();
    try {
      const fresh = await freshSettings();
      const now = test.clock.now() + 2000;
      while (written < 3) await new Promise((later) => setTimeout(later, 1));
      const before = written;
      const { path } = await makeBackup({ settings, folder, lock: {}, now });
      expect(written).toBeGreaterThan(before);
      await restoreBackup({ settings: fresh, file: path, opening: {} });
      const { client, salon } = await everyRow(fresh.database);
      const number = Number(/\d+/.exec(String(client?.[0]?.['notes']))?.[0]);
      // Both rows of one unit of work, or neither.
      expect(salon?.[0]?.['phone']).toBe(`+4420794603${String(number % 100).padStart(2, '0')}`);
      await rm(path);
    } finally {
      writing = false;
      await writer;
    }
  });

  it('are made once a day by the server, whichever process asks first, and made up for when missed', async () => {
    const dir = join(folder, 'daily');
    const daily = { ...settings, backup: { ...settings.backup, dir, at: '03:15', keepDays: 1 } };
    const turns = new Turns(test.units, test.reader, test.clock);
    const schedules = [1, 2].map(() => new BackupSchedule(daily, turns, test.clock));
    const look = async () => (await Promise.all(schedules.map((one) => one.look()))).filter(Boolean).length;
    const at = (iso: string) => {
      test.clock.at = Date.parse(iso);
    };
    const was = test.clock.now();
    try {
      expect(await look()).toBe(1);
      expect(await look()).toBe(0);
      at('2026-06-02T03:14:00Z');
      expect(await look()).toBe(0);
      at('2026-06-02T03:16:00Z');
      expect(await look()).toBe(1);
      at('2026-06-04T21:00:00Z');
      expect(await look()).toBe(1);
      expect((await keptIn(dir)).map(({ madeAt }) => new Date(madeAt).toISOString())).toEqual([
        '2026-06-04T21:00:00.000Z',
      ]);
    } finally {
      test.clock.at = was;
    }
  });

  it('of former days go when their time is over, the newest stays', async () => {
    const later = test.clock.now() + 30 * 24 * HOUR_MS;
    const { path } = await makeBackup({ settings, folder, lock: {}, now: later });
    const gone = await forgetExpired(folder, later, 14);
    expect(gone).toHaveLength(2);
    const left = await keptIn(folder);
    expect(left.map(({ name }) => join(folder, name))).toEqual([path]);
    expect(await forgetExpired(folder, later + 100 * 24 * HOUR_MS, 14)).toEqual([]);
  });
});
