import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { Account } from '../../src/identity/index.js';
import { newId } from '../../src/store/index.js';
import { isOnPostgres } from '../factories/database.js';
import { openTestStore, type TestStore } from '../factories/salon.js';

const account = (email: string) => ({
  id: newId(),
  email,
  name: email,
  role: 'desk' as const,
  passwordHash: 'none',
  active: true,
});

/** Lets everything that is waiting go on for a while. */
const settle = () => new Promise((resolve) => setTimeout(resolve, 20));

describe('unit of work', () => {
  let store: TestStore;
  beforeEach(async () => {
    store = await openTestStore();
  });
  afterEach(() => store.close());

  const emails = async () =>
    (await store.reader.manager.find(Account, { order: { email: 'ASC' } })).map(({ email }) => email);

  it("keeps one request's rollback away from another's commit", async () => {
    let fail!: (reason: Error) => void;
    const failing = new Promise<never>((_, reject) => {
      fail = reject;
    });
    const first = store.units.run(async (manager) => {
      await manager.insert(Account, account('first@example.org'));
      await failing;
    });
    const second = store.units.run((manager) => manager.insert(Account, account('second@example.org')));
    await settle();
    fail(new Error('the first request goes wrong'));
    await expect(first).rejects.toThrow('the first request goes wrong');
    await second;
    expect(await emails()).toEqual(['second@example.org']);
  });

  it('calls what waits for a commit after it, in order, and never after a rollback', async () => {
    const told: string[] = [];
    const count = () => store.reader.manager.count(Account);
    await store.units.run(async (manager) => {
      store.units.afterCommit(() => told.push('first'));
      store.units.afterCommit(() => {
        throw new Error('a follower fails');
      });
      await manager.insert(Account, account('told@example.org'));
      store.units.afterCommit(() => told.push('second'));
      expect(told).toEqual([]);
    });
    expect(told).toEqual(['first', 'second']);
    expect(await count()).toBe(1);
    const failing = store.units.run(async () => {
      store.units.afterCommit(() => told.push('never'));
      throw new Error('rolled back');
    });
    await expect(failing).rejects.toThrow('rolled back');
    expect(told).toEqual(['first', 'second']);
    expect(() => store.units.afterCommit(() => undefined)).toThrow('no commit');
  });

  it('shows readers nothing that is not committed, and everything that is', async () => {
    let go!: () => void;
    const gate = new Promise<void>((resolve) => {
      go = resolve;
    });
    const unit = store.units.run(async (manager) => {
      await manager.insert(Account, account('late@example.org'));
      await gate;
    });
    await settle();
    expect(await emails()).toEqual([]);
    go();
    await unit;
    expect(await emails()).toEqual(['late@example.org']);
  });

  it('leaves the writer usable after a statement that fails', async () => {
    await expect(
      store.units.run((manager) => manager.query('INSERT INTO no_such_table VALUES (1)')),
    ).rejects.toThrow('no_such_table');
    await store.units.run((manager) => manager.insert(Account, account('after@example.org')));
    expect(await emails()).toEqual(['after@example.org']);
  });

  it('refuses a unit inside a unit instead of waiting for itself', async () => {
    const nested = store.units.run(() => store.units.run(() => Promise.resolve('never')));
    await expect(nested).rejects.toThrow('inside another');
  });

  it('gives readers a connection that cannot write', async () => {
    await expect(store.reader.manager.insert(Account, account('sneaky@example.org'))).rejects.toThrow(
      /read-?only/,
    );
  });

  it('holds to foreign keys and to full synchronisation', async () => {
    if (isOnPostgres()) {
      const [{ synchronous_commit }] = await store.sources.writer.query('SHOW synchronous_commit');
      const [{ session_replication_role }] = await store.sources.writer.query(
        'SHOW session_replication_role',
      );
      // "origin": triggers fire, those behind foreign keys too (PostgreSQL manual, 19.11.1).
      expect({ synchronous_commit, session_replication_role }).toEqual({
        synchronous_commit: 'on',
        session_replication_role: 'origin',
      });
      return;
    }
    const [{ foreign_keys }] = await store.sources.writer.query('PRAGMA foreign_keys');
    const [{ synchronous }] = await store.sources.writer.query('PRAGMA synchronous');
    const [{ journal_mode }] = await store.sources.writer.query('PRAGMA journal_mode');
    expect({ foreign_keys, synchronous, journal_mode }).toEqual({
      foreign_keys: 1,
      synchronous: 2,
      journal_mode: 'wal',
    });
  });
});
