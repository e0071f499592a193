import { copyFile, mkdir, mkdtemp, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, beforeEach, describe, expect, it, jest } from '@jest/globals';
import fc from 'fast-check';
import { MIGRATIONS } from '../../migrations/index.js';
import { Client, Clients } from '../../src/clients/index.js';
import { ENTITIES } from '../../src/entities.js';
import { SafetyNote, SafetyRecords } from '../../src/skin-tests/index.js';
import { keyFrom, newKeyText, openSources, readKeyFile, writeKeyFile } from '../../src/store/index.js';
import { Keyring } from '../../src/store/keyring.js';
import { compiledProduct } from '../browser/compiled.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { runOperator } from '../factories/keep.js';
import { MARKS, type Marked, plantMarked } from '../factories/security.js';

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

describe('sealing words', () => {
  const ring = (text = newKeyText()) => {
    const made = new Keyring();
    made.use([keyFrom(text)]);
    return made;
  };

  it('gives back whatever was sealed, and never the same sealed text twice', () => {
    const keys = ring();
    fc.assert(
      fc.property(fc.string({ minLength: 1, unit: 'grapheme' }), (words) => {
        const sealed = keys.seal(words, 'client.healthNotes');
        expect(keys.open(sealed, 'client.healthNotes')).toBe(words);
        expect(keys.seal(words, 'client.healthNotes')).not.toBe(sealed);
        if (words.length > 3) expect(Buffer.from(sealed.slice(18), 'base64url').includes(words)).toBe(false);
      }),
    );
  });

  it('notices any change, a wrong place and a wrong key', () => {
    const keys = ring();
    const sealed = keys.seal('allergic to PPD', 'client.healthNotes');
    const head = 'sealed:1:'.length + 9;
    fc.assert(
      fc.property(fc.integer({ min: head, max: sealed.length - 2 }), (at) => {
        const other = sealed[at] === 'A' ? 'B' : 'A';
        const changed = sealed.slice(0, at) + other + sealed.slice(at + 1);
        expect(() => keys.open(changed, 'client.healthNotes')).toThrow('changed by something else');
      }),
    );
    expect(() => keys.open(sealed, 'safety_note.told')).toThrow('changed by something else');
    expect(() => ring().open(sealed, 'client.healthNotes')).toThrow('Put that key back');
    expect(() => new Keyring().seal('x', 'client.healthNotes')).toThrow('HALFINCH_KEY');
  });

  it('does the same for files, and reads those of before', () => {
    const keys = ring();
    const picture = Buffer.from([0xff, 0xd8, 0xff, 0xe0, ...Array.from({ length: 500 }, (_, i) => i % 7)]);
    const sealed = keys.sealBytes(picture, 'a.jpg');
    expect(sealed.includes(picture.subarray(0, 16))).toBe(false);
    expect(keys.openBytes(sealed, 'a.jpg')).toEqual(picture);
    expect(keys.openBytes(picture, 'a.jpg')).toEqual(picture);
    expect(() => keys.openBytes(sealed, 'b.jpg')).toThrow('changed by something else');
    expect(() => keys.openBytes(sealed.subarray(0, 40), 'a.jpg')).toThrow('damaged');
    expect(() => ring().openBytes(sealed, 'a.jpg')).toThrow('Put that key back');
  });

  it('takes 32 bytes in base64 for a key and nothing else', () => {
    for (const text of [
      '',
      'short',
      'A'.repeat(43),
      `${newKeyText()}A`,
      Buffer.alloc(16).toString('base64'),
    ]) {
      expect(() => keyFrom(text)).toThrow('openssl rand -base64 32');
    }
  });

  it('opens what another program sealed by AES-256-GCM', () => {
    // Made with Python's `cryptography` 48.0.0 AESGCM: key 00..1f, nonce 12 bytes of 07, associated data as given.
    const key = Buffer.from(Array.from({ length: 32 }, (_, i) => i)).toString('base64');
    const keys = ring(key);
    const { id } = keyFrom(key);
    expect(keys.open(`sealed:1:${id}:${PYTHON_SEALED}`, 'client.healthNotes')).toBe('allergic to PPD');
  });
});

const PYTHON_SEALED = 'BwcHBwcHBwcHBwcHbgbKOR1ovpfm6Xyg0AGwFp4u-7oQSGRwngzGuT25Cw';

describe('health words at rest', () => {
  let test: TestApp;
  let marked: Marked;
  let folder: string;
  const told = 'mark-of-what-was-told';

  beforeAll(async () => {
    test = await startTestApp();
    marked = await plantMarked(test);
    await test.app
      .get(SafetyRecords, { strict: false })
      .note(marked.clientId, { kind: 'irritated-scalp', told }, { accountId: null, role: 'owner' });
    folder = await mkdtemp(join(tmpdir(), 'halfinch-sealed-'));
  });
  afterAll(async () => {
    await test.close();
    await rm(folder, { recursive: true });
  });

  const databaseFile = async (): Promise<string> => {
    const [row] = await test.reader.manager.query('PRAGMA database_list');
    return (row as { file: string }).file;
  };

  it('are in no byte of the database or its log, and are read and found as before', async () => {
    const file = await databaseFile();
    const bytes = Buffer.concat([await readFile(file), await readFile(`${file}-wal`)]);
    expect(bytes.includes(MARKS.name)).toBe(true);
    for (const words of [MARKS.health, told]) expect(bytes.includes(words)).toBe(false);
    const clients = test.app.get(Clients, { strict: false });
    expect(await clients.healthNotes(marked.clientId, { accountId: null, role: 'owner' })).toBe(MARKS.health);
    expect(await test.reader.manager.findBy(SafetyNote, {})).toMatchObject([{ told }]);
    expect(await clients.search(test.salon.id, 'zephir')).toHaveLength(1);
  });

  it('are in no audit entry either', async () => {
    const entries = JSON.stringify(await test.reader.manager.query('SELECT * FROM audit_entry'));
    expect(entries).toContain('client.add');
    for (const words of [MARKS.health, told, MARKS.notes, MARKS.phone, MARKS.name])
      expect(entries).not.toContain(words);
  });

  describe('with a key that changes or is lost', () => {
    let data: string;
    let product: string;
    beforeAll(async () => {
      product = await compiledProduct();
    }, 120_000);
    beforeEach(async () => {
      data = await mkdtemp(join(folder, 'data-'));
      const file = await databaseFile();
      await copyFile(file, join(data, 'halfinch.sqlite'));
      await copyFile(`${file}-wal`, join(data, 'halfinch.sqlite-wal'));
      writeKeyFile(join(data, 'keys/health.key'), readKeyFile(join(file, '../keys/health.key')));
    });

    const command = (script: string, args: string[], env: Record<string, string> = {}) =>
      runOperator(product, [script, ...args], { env: { HALFINCH_DATA: data, ...env } });

    const healthNotes = async (key?: string): Promise<string> => {
      const sources = await openSources(join(data, 'halfinch.sqlite'), ENTITIES, MIGRATIONS, {
        key,
        keyFile: join(data, 'keys/health.key'),
      });
      try {
        const row = await sources.reader.manager.findOneOrFail(Client, {
          where: { id: marked.clientId },
          select: { id: true, healthNotes: true },
        });
        return row.healthNotes;
      } finally {
        await sources.reader.destroy();
        await sources.writer.destroy();
      }
    };
    const sealedWith = async (): Promise<string> => {
      const bytes = await readFile(join(data, 'halfinch.sqlite'));
      return [...new Set(bytes.toString('latin1').match(/sealed:1:[0-9a-f]{8}/g) ?? [])].join();
    };

    it('seals everything anew, leaves no trace of the old sealing, and reads on', async () => {
      const keyFile = join(data, 'keys/health.key');
      const old = keyFrom((await readFile(keyFile, 'utf8')).trim());
      const photo = join(data, 'photos', `${'a'.repeat(43)}.jpg`);
      const picture = Buffer.from('a picture of before photographs were sealed');
      await mkdir(join(data, 'photos'));
      await writeFile(photo, picture);
      const { stdout } = await command('key', ['rotate']);
      const fresh = keyFrom((await readFile(keyFile, 'utf8')).trim());
      expect(stdout).toContain(`Sealed 3 values with key ${fresh.id}`);
      const stored = await readFile(photo);
      expect(stored.includes(picture)).toBe(false);
      const keys = new Keyring();
      keys.use([fresh]);
      expect(keys.openBytes(stored, `${'a'.repeat(43)}.jpg`)).toEqual(picture);
      expect(fresh.id).not.toBe(old.id);
      expect((await stat(keyFile)).mode & 0o777).toBe(0o600);
      expect(await sealedWith()).toBe(`sealed:1:${fresh.id}`);
      expect(await healthNotes()).toBe(MARKS.health);
    });

    it('seals anew with keys from the environment', async () => {
      const keyFile = join(data, 'keys/health.key');
      const old = (await readFile(keyFile, 'utf8')).trim();
      const fresh = newKeyText();
      await command('key', ['rotate'], { HALFINCH_KEY: `${fresh},${old}` });
      await rm(keyFile);
      expect(await healthNotes(fresh)).toBe(MARKS.health);
    });

    it('does not start without the key, says what is lost, and starts again once that is given up', async () => {
      await rm(join(data, 'keys/health.key'));
      const refused = await command('audit', ['verify']);
      expect(refused).toMatchObject({ code: 1 });
      expect(refused.stderr).toMatch(
        /sealed with key [0-9a-f]{8}.*If it is lost, these words are lost for good/s,
      );
      const { stdout } = await command('key', ['give-up']);
      expect(stdout).toContain('Gave up 2 values');
      expect(await healthNotes()).toContain('Ask the client again');
    });

    it('verifies the audit trail from the command line and tells one that was tampered with', async () => {
      const good = await command('audit', ['verify']);
      const [, head = ''] = /(\d+:[0-9a-f]{64})/.exec(good.stdout) ?? [];
      expect(good.stdout).toContain('are as they were written');
      expect((await command('audit', ['verify', head])).stdout).toContain('are as they were written');

      const { writer, reader } = await openSources(join(data, 'halfinch.sqlite'), ENTITIES, MIGRATIONS);
      await writer.query('DROP TRIGGER audit_entry_no_delete');
      await writer.query('DELETE FROM audit_entry WHERE number = (SELECT max(number) FROM audit_entry)');
      await reader.destroy();
      await writer.destroy();
      expect((await command('audit', ['verify'])).stdout).toContain('are as they were written');
      const cut = await command('audit', ['verify', head]);
      expect(cut.stdout).toContain('once reached');
      expect(cut).toMatchObject({ code: 1 });
    });

    it('makes a link for an owner who lost the way in, and none for a stranger', async () => {
      const { stdout } = await command('user', ['link', 'owner@wren-tallow.example.org']);
      expect(stdout).toMatch(/\/new-password\?link=[\w-]{43}\n$/);
      expect(await command('user', ['link', 'nobody@example.org'])).toMatchObject({ code: 1 });
    });
  });
});
