import { expect, it } from '@jest/globals';
import { MIGRATIONS } from '../../migrations/index.js';
import { Client } from '../../src/clients/index.js';
import { ENTITIES } from '../../src/entities.js';
import { gatherStatistics, heedStatistics, newId, openSources } from '../../src/store/index.js';
import { insertRows } from '../../src/store/insert-rows.js';
import { usualKeyFile } from '../../src/store/load-keys.js';
import { makeClient } from '../factories/clients.js';
import { makeSalon, openTestStore, type TestStore } from '../factories/salon.js';

const OF_SALON = 'SELECT id FROM client WHERE "salonId" = ? AND phone = ?';

/** Rows of a table as SQLite last counted them: the first number of sqlite_stat1 (sqlite.org/fileformat2.html#stat1tab). */
async function counted({ sources }: TestStore, table: string): Promise<number> {
  const rows: { stat: string }[] = await sources.writer
    .query('SELECT stat FROM sqlite_stat1 WHERE tbl = ?', [table])
    .catch(() => []);
  return Number(rows[0]?.stat.split(' ')[0] ?? 0);
}

async function plantClients(store: TestStore, salonId: string, count: number): Promise<void> {
  const one = await makeClient(store, salonId);
  const rows = Array.from({ length: count - 1 }, (_, i) => ({
    ...one,
    id: newId(),
    healthNotes: '',
    phone: `+4420794${60_000 + i}`,
  }));
  await store.units.run((manager) => insertRows(manager, Client, rows as Client[]));
}

it('counts what has grown by itself, so that the narrowest index is taken', async () => {
  const store = await openTestStore();
  try {
    const { salon } = await makeSalon(store);
    expect(await counted(store, 'client')).toBe(0);
    await plantClients(store, salon.id, 3000);
    await store.units.run(gatherStatistics);
    await heedStatistics(store.reader.manager);
    // A bounded look reads a few thousand rows at most and says about how many there are.
    expect(await counted(store, 'client')).toBeGreaterThan(1000);
    const [plan]: { detail: string }[] = await store.reader.manager.query(`EXPLAIN QUERY PLAN ${OF_SALON}`, [
      salon.id,
      '+442079460001',
    ]);
    expect(plan?.detail).toContain('(phone=?)');
  } finally {
    await store.close();
  }
});

it('counts when a process opens the file', async () => {
  const store = await openTestStore();
  try {
    const { salon } = await makeSalon(store);
    await plantClients(store, salon.id, 3000);
    const again = await openSources(store.database, ENTITIES, MIGRATIONS, {
      keyFile: usualKeyFile(store.folder),
    });
    expect(await counted(store, 'client')).toBeGreaterThan(1000);
    await again.reader.destroy();
    await again.writer.destroy();
  } finally {
    await store.close();
  }
});
