import { Client as PostgresClient } from 'pg';
import sqlite3 from 'sqlite3';
import { Client } from '../../src/clients/index.js';
import { CutFormula } from '../../src/cuts/index.js';
import { growthPrior, initialProfile } from '../../src/engine/growth/index.js';
import { packWindow, windowsOf } from '../../src/engine/plan/index.js';
import { seededUniform } from '../../src/engine/stats/index.js';
import { ZONES } from '../../src/engine/zones.js';
import { batchOfStored, Contacts, DueList, ShapeWindow } from '../../src/rebooking/index.js';
import { newId } from '../../src/store/index.js';
import { insertRows } from '../../src/store/insert-rows.js';
import { isOnPostgres } from '../factories/database.js';
import { type Query, queriesOf } from '../factories/query-plans.js';
import { makeSalon, openTestStore, type TestStore } from '../factories/salon.js';
import { type BenchOptions, type BenchRow, median, spreadRow } from './row.js';

const MOST_TIMES = 3;
/** Of the time per client in a book a tenth as large: flat, give or take. */
const MOST_GROWTH = 1.5;
const TODAY = '2026-07-01';
const NOW = Date.parse(`${TODAY}T08:00:00Z`);
const DAY_MS = 86_400_000;
/** Cut within so many days before today. */
const CUT_WITHIN = 120;
/** After the last window has opened: everybody is on the list. */
const UNTIL = '2028-12-31';
const PAGE = 50;

/** Asks the database with the bare driver, without a mapper around it. */
type BareReader = { all(query: Query): Promise<unknown[]>; close(): Promise<void> };

async function sqliteReader(file: string): Promise<BareReader> {
  const db = new sqlite3.Database(file, sqlite3.OPEN_READONLY);
  return {
    all: ({ sql, values }) =>
      new Promise((done, failed) => {
        db.all(sql, values, (error, rows) => (error ? failed(error) : done(rows)));
      }),
    close: () => new Promise((done) => db.close(() => done())),
  };
}

async function postgresReader(connectionString: string): Promise<BareReader> {
  const client = new PostgresClient({ connectionString });
  await client.connect();
  return {
    all: async ({ sql, values }) => (await client.query(sql, [...values])).rows,
    close: () => client.end(),
  };
}

/** An invented book of one salon: two to four limits a client, lengths drawn at random. Returns the packed windows. */
async function plant({ units, sources }: TestStore, salonId: string, clients: number): Promise<string[]> {
  const random = seededUniform(7);
  const between = (low: number, high: number) => low + (high - low) * random();
  const profile = initialProfile(growthPrior());
  const formulaId = newId();
  const formula = { id: formulaId, version: 1, salonId, name: 'Crop', notes: '', cutOn: TODAY };
  const people = Array.from({ length: clients }, (_, i) => ({
    id: newId(),
    version: 1,
    salonId,
    givenName: `Guest ${i}`,
    familyName: 'Farnsby',
    searchText: `guest ${i} farnsby`,
    email: `guest-${i}@example.org`,
    notes: '',
    healthNotes: '',
    addedAt: 0,
  }));
  const windows = people.map(({ id: clientId }, i) => {
    const zones = ZONES.map((zone) => ({ zone, leftMm: between(5, 150), leftSdMm: 3 }));
    const limits = ZONES.slice(0, 2 + (i % 3)).map((zone) => ({
      kind: 'grown-by' as const,
      zone,
      mm: between(8, 40),
    }));
    const cutOn = new Date(NOW - (i % CUT_WITHIN) * DAY_MS).toISOString().slice(0, 10);
    const packed = packWindow({ profile, cutOn, zones, limits });
    return {
      ...{ id: newId(), salonId, clientId, formulaId, cutOn, computedAt: 0 },
      ...{ earliestOn: TODAY, dueOn: TODAY, latestOn: TODAY, firstZone: 'nape' as const },
      reason: 'the nape has grown by 8 mm',
      packed: Buffer.from(packed.buffer).toString('base64'),
    };
  });
  await units.run(async (manager) => {
    await manager.insert(CutFormula, formula);
    await insertRows(manager, Client, people as unknown as Client[]);
    await insertRows(manager, ShapeWindow, windows as unknown as ShapeWindow[]);
  });
  // As autovacuum does by itself, but now.
  await sources.writer.query('ANALYZE');
  return windows.map(({ packed }) => packed);
}

async function timed(run: () => Promise<unknown>): Promise<number> {
  const start = performance.now();
  await run();
  return performance.now() - start;
}

/** Rounds by turns: what the first page of the list takes beside the bare reading of the rows it is made from. */
async function rounds(clients: number, count: number) {
  const store = await openTestStore(new Date(NOW).toISOString());
  try {
    const { salon } = await makeSalon(store);
    const packed = await plant(store, salon.id, clients);
    const due = new DueList(store.reader, store.clock, new Contacts());
    const page = () => due.page(salon.id, { until: UNTIL, skip: 0, take: PAGE });
    const asked = await queriesOf([store.sources.reader], page);
    const rows = asked.find(({ sql }) => sql.includes('"packed"'));
    if (!rows) throw new Error('The due list no longer reads the stored windows.');
    const bare = await (isOnPostgres() ? postgresReader : sqliteReader)(store.database);
    const times: { readonly ratio: number; readonly eachUs: number; readonly anewUs: number }[] = [];
    // The first round only warms up.
    for (let i = 0; i <= count; i += 1) {
      const raw = await timed(async () => {
        const { length } = await bare.all(rows);
        if (length !== clients) throw new Error(`${length} rows of ${clients} were read.`);
      });
      const list = await timed(async () => {
        const { total } = await page();
        if (total !== clients) throw new Error(`${total} clients of ${clients} were due.`);
      });
      const anew = await timed(async () => windowsOf(batchOfStored(packed.map((one) => ({ packed: one })))));
      if (i === 0) continue;
      times.push({
        ratio: list / raw,
        eachUs: (1000 * list) / clients,
        anewUs: (1000 * anew) / clients,
      });
    }
    await bare.close();
    return {
      ratios: times.map(({ ratio }) => ratio),
      eachUs: times.map(({ eachUs }) => eachUs),
      anewUs: times.map(({ anewUs }) => anewUs),
    };
  } finally {
    await store.close();
  }
}

/**
 * The first page of the due list of a whole book, for each client the probability that the shape has gone today, against
 * the bare driver asking the very same query and doing nothing with the rows.
 */
export async function benchWholeBook({ quick }: BenchOptions): Promise<BenchRow[]> {
  const [few, many] = quick ? [1000, 10_000] : [10_000, 100_000];
  const small = await rounds(few, 9);
  const large = await rounds(many, 5);
  return [
    spreadRow(`due list of ${few} clients / reading their rows raw`, small.ratios, 'ratio', MOST_TIMES),
    spreadRow(`due list of ${many} clients / reading their rows raw`, large.ratios, 'ratio', MOST_TIMES),
    spreadRow('  time a client', large.eachUs, 'µs'),
    {
      name: `  time a client, ${many} / ${few} clients`,
      value: median(large.eachUs) / median(small.eachUs),
      unit: 'ratio',
      budget: MOST_GROWTH,
    },
    spreadRow('every window of the book made anew, a client', large.anewUs, 'µs'),
  ];
}
