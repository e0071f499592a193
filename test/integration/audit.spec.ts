import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import fc from 'fast-check';
import type { DataSource } from 'typeorm';
import { MIGRATIONS } from '../../migrations/index.js';
import { ENTITIES } from '../../src/entities.js';
import { Account, AuditEntry, verifyAudit } from '../../src/identity/index.js';
import { writerSource } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { bareDatabase, isOnPostgres } from '../factories/database.js';
import { openTestStore, type TestStore } from '../factories/salon.js';
import { openSession } from '../factories/security.js';

// The whole product starts, and hashing is slow on purpose: a busy machine takes its time.
jest.setTimeout(120_000);

const FACT = { action: 'client.change', subjectKind: 'client', subjectId: null } as const;
const ACTOR = { accountId: null, role: 'owner', address: '192.0.2.1' } as const;

/** Takes away what guards the trail, as whoever owns the machine can. */
async function unguard(writer: DataSource): Promise<void> {
  if (isOnPostgres()) await writer.query('ALTER TABLE audit_entry DISABLE TRIGGER USER');
  else for (const act of ['update', 'delete']) await writer.query(`DROP TRIGGER audit_entry_no_${act}`);
}

describe('the audit trail', () => {
  let store: TestStore;
  const write = async (count: number) => {
    for (let i = 0; i < count; i += 1) {
      await store.units.run((manager) =>
        store.audit.record(manager, ACTOR, { ...FACT, details: { fields: `field${i}`, n: i } }),
      );
    }
  };
  beforeAll(async () => {
    store = await openTestStore();
    await write(30);
  });
  afterAll(() => store.close());

  it('is numbered without gaps, also when many write at once', async () => {
    await Promise.all(Array.from({ length: 40 }, () => write(1)));
    const numbers = (await store.reader.manager.find(AuditEntry)).map((entry) => entry.number);
    expect(numbers.sort((a, b) => a - b)).toEqual(Array.from({ length: 70 }, (_, i) => i + 1));
    expect(await verifyAudit(store.reader.manager)).toMatchObject({ entries: 70, broken: null });
  });

  it('keeps nothing of an act that was rolled back, and leaves no gap', async () => {
    const failing = store.units.run(async (manager) => {
      await store.audit.record(manager, ACTOR, FACT);
      throw new Error('rolled back');
    });
    await expect(failing).rejects.toThrow('rolled back');
    await write(1);
    expect(await verifyAudit(store.reader.manager)).toMatchObject({ entries: 71, broken: null });
  });

  it('cannot be changed or shortened through the database', async () => {
    const { writer } = store.sources;
    if (!isOnPostgres()) await writer.query('PRAGMA recursive_triggers = ON');
    for (const sql of [
      `UPDATE audit_entry SET action = 'nothing' WHERE number = 3`,
      'DELETE FROM audit_entry WHERE number = 3',
      'DELETE FROM audit_entry',
      isOnPostgres()
        ? 'TRUNCATE audit_entry'
        : 'INSERT OR REPLACE INTO audit_entry SELECT * FROM audit_entry WHERE number = 3',
    ]) {
      await expect(writer.query(sql)).rejects.toThrow('append-only');
    }
    expect(await verifyAudit(store.reader.manager)).toMatchObject({ broken: null });
  });

  it('shows where it was tampered with, whatever was changed', async () => {
    const { writer } = store.sources;
    await unguard(writer);
    const columns = [
      'at',
      'accountId',
      'role',
      'action',
      'subjectKind',
      'subjectId',
      'details',
      'address',
      'hash',
    ];
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 71 }),
        fc.constantFrom(...columns),
        fc.integer({ min: 1, max: 9 }),
        async (number, column, value) => {
          const [row] = await writer.query(
            `SELECT "${column}" AS was FROM audit_entry WHERE number = ${number}`,
          );
          const other =
            column === 'at' ? value : column === 'details' ? `{"x":${value}}` : `tampered ${value}`;
          const set = (text: unknown) =>
            writer
              .createQueryBuilder()
              .update('audit_entry')
              .set({ [column]: () => ':text' })
              .where({ number })
              .setParameter('text', text)
              .execute();
          await set(other);
          const { broken } = await verifyAudit(writer.manager);
          await set(row.was);
          expect(broken?.number).toBe(number);
        },
      ),
      { numRuns: 60 },
    );
    expect(await verifyAudit(writer.manager)).toMatchObject({ broken: null });
  });

  it('shows a gap, and with a noted head a cut-off end', async () => {
    const { writer } = store.sources;
    const { head } = await verifyAudit(writer.manager);
    await writer.query('DELETE FROM audit_entry WHERE number > 69');
    expect(await verifyAudit(writer.manager)).toMatchObject({ entries: 69, broken: null });
    expect((await verifyAudit(writer.manager, head ?? undefined)).broken?.number).toBe(70);
    await writer.query('DELETE FROM audit_entry WHERE number = 12');
    expect((await verifyAudit(writer.manager)).broken).toEqual({ number: 12, what: 'It is missing.' });
  });
});

describe('bringing an older trail up to date', () => {
  it('chains the entries that were there and gives them back when taken back', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'halfinch-audit-'));
    const { database, drop } = await bareDatabase(join(folder, 'a.sqlite'));
    const source = await writerSource(database, ENTITIES, MIGRATIONS).initialize();
    try {
      await source.runMigrations();
      const names = MIGRATIONS.map(({ name }) => name);
      const later = names.length - names.indexOf('Identity1764082800000');
      for (let i = 0; i < later; i += 1) await source.undoLastMigration();
      for (const at of [2, 1]) {
        await source.query(
          `INSERT INTO audit_entry (id, at, action, "subjectKind", details) VALUES ('e${at}', ${at}, 'client.add', 'client', '{"a":"ä"}')`,
        );
      }
      await source.runMigrations();
      expect(await verifyAudit(source.manager)).toMatchObject({ entries: 2, broken: null });
      const rows = await source.manager.find(AuditEntry, { order: { number: 'ASC' } });
      expect(rows.map(({ id, number }) => [id, number])).toEqual([
        ['e1', 1],
        ['e2', 2],
      ]);
      for (let i = 0; i < later; i += 1) await source.undoLastMigration();
      expect(await source.query('SELECT id, details FROM audit_entry ORDER BY at')).toEqual([
        { id: 'e1', details: '{"a":"ä"}' },
        { id: 'e2', details: '{"a":"ä"}' },
      ]);
    } finally {
      await source.destroy();
      await drop();
      await rm(folder, { recursive: true });
    }
  });
});

describe('the owner’s page of the trail', () => {
  let test: TestApp;
  beforeAll(async () => {
    test = await startTestApp();
  });
  afterAll(() => test.close());

  it('names who did what, narrows it down and verifies it', async () => {
    await test.ask('desk', 'POST', '/api/v1/clients', { givenName: 'Odile' });
    const headers = { authorization: `Bearer ${await openSession(test.app, 'owner')}` };
    const page = await test.app.inject({ url: '/audit', headers });
    expect(page.body).toContain('The desk');
    expect(page.body).toContain('client.add');
    const { id } = await test.reader.manager.findOneByOrFail(Account, { role: 'desk' });
    const narrowed = await test.app.inject({ url: `/audit?who=${id}&what=client`, headers });
    expect(narrowed.body).toContain('client.add');
    expect(narrowed.body).not.toContain('session.start');
    const none = await test.app.inject({ url: '/audit?what=cut', headers });
    expect(none.body).toContain('Nothing on record.');
    const odd = await test.app.inject({ url: '/audit?what=%25', headers });
    expect(odd.statusCode).toBe(422);
    const verified = await test.app.inject({ method: 'POST', url: '/audit/verification', headers });
    expect(verified.body).toMatch(/All \d+ entries are as they were written/);
  });
});
