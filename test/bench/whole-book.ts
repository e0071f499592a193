import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import sqlite3 from 'sqlite3';
import { growthPrior, initialProfile } from '../../src/engine/growth/index.js';
import { goneBy, packWindow, windowsOf } from '../../src/engine/plan/index.js';
import { seededUniform } from '../../src/engine/stats/index.js';
import { ZONES } from '../../src/engine/zones.js';
import { batchOfStored } from '../../src/rebooking/index.js';
import type { BenchRow } from './engine.js';

const CLIENTS = 100_000;
const RUNS = 5;

type Stored = { clientId: string; packed: string };

function all(db: sqlite3.Database): Promise<Stored[]> {
  return new Promise((resolve, reject) => {
    db.all<Stored>('SELECT "clientId", packed FROM shape_window', (error, rows) =>
      error ? reject(error) : resolve(rows),
    );
  });
}

/** Stored windows of an invented book: two to four limits each, lengths drawn at random. */
async function plant(file: string, clients: number): Promise<void> {
  const random = seededUniform(7);
  const between = (low: number, high: number) => low + (high - low) * random();
  const profile = initialProfile(growthPrior());
  const db = new sqlite3.Database(file);
  const run = (sql: string, values: unknown[] = []) =>
    new Promise<void>((resolve, reject) => {
      db.run(sql, values, (error) => (error ? reject(error) : resolve()));
    });
  await run('CREATE TABLE shape_window ("clientId" varchar(36) PRIMARY KEY, packed text)');
  await run('BEGIN');
  for (let i = 0; i < clients; i += 1) {
    const zones = ZONES.map((zone) => ({ zone, leftMm: between(5, 150), leftSdMm: 3 }));
    const limits = ZONES.slice(0, 2 + (i % 3)).map((zone) => ({
      kind: 'grown-by' as const,
      zone,
      mm: between(8, 40),
    }));
    const packed = Buffer.from(packWindow({ profile, cutOn: '2026-06-01', zones, limits }).buffer);
    await run('INSERT INTO shape_window VALUES (?, ?)', [`client-${i}`, packed.toString('base64')]);
  }
  await run('COMMIT');
  await new Promise<void>((resolve) => {
    db.close(() => resolve());
  });
}

async function timed(run: () => Promise<unknown>): Promise<number> {
  const start = performance.now();
  await run();
  return performance.now() - start;
}

const median = (values: readonly number[]) =>
  [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? NaN;

/**
 * The windows of a whole book and, for each client, the probability that the shape has gone today, against sqlite3
 * reading the same rows and nothing else.
 */
export async function benchWholeBook(clients = CLIENTS): Promise<BenchRow[]> {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-bench-'));
  try {
    const file = join(folder, 'book.sqlite');
    await plant(file, clients);
    const db = new sqlite3.Database(file, sqlite3.OPEN_READONLY);
    const ratios: number[] = [];
    const times: number[] = [];
    for (let i = 0; i < RUNS; i += 1) {
      const raw = await timed(() => all(db));
      const computed = await timed(async () => {
        const batch = batchOfStored(await all(db));
        const days = new Float64Array(batch.starts.length).fill(30);
        return [windowsOf(batch), goneBy(batch, days)];
      });
      ratios.push(computed / raw);
      times.push(computed);
    }
    await new Promise<void>((resolve) => {
      db.close(() => resolve());
    });
    return [
      {
        name: `windows of ${clients} clients against reading their rows raw`,
        value: median(ratios),
        unit: 'ratio',
        budget: 3,
      },
      { name: '  of it: time per client', value: (1000 * median(times)) / clients, unit: 'µs', budget: null },
    ];
  } finally {
    await rm(folder, { recursive: true });
  }
}
