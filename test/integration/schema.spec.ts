import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, it } from '@jest/globals';
import { MIGRATIONS } from '../../migrations/index.js';
import { ENTITIES } from '../../src/entities.js';
import { openWriter, writerSource } from '../../src/store/index.js';
import { bareDatabase, tablesOf } from '../factories/database.js';

it('migrations leave the schema that the entities describe, and can be taken back', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-schema-'));
  const { database, drop } = await bareDatabase(join(folder, 'a.sqlite'));
  const source = await writerSource(database, ENTITIES, MIGRATIONS).initialize();
  try {
    await source.runMigrations();
    const drift = await source.driver.createSchemaBuilder().log();
    expect(drift.upQueries.map((query) => query.query)).toEqual([]);

    for (const _ of MIGRATIONS) await source.undoLastMigration();
    expect(await tablesOf(source)).toEqual(['schema_migration']);
  } finally {
    await source.destroy();
    await drop();
    await rm(folder, { recursive: true });
  }
});

it('migrations run once when several open a new database at once', async () => {
  const folder = await mkdtemp(join(tmpdir(), 'halfinch-schema-'));
  const { database, drop } = await bareDatabase(join(folder, 'a.sqlite'));
  try {
    const writers = await Promise.all([1, 2, 3].map(() => openWriter(database, ENTITIES, MIGRATIONS)));
    const rows: { name: string }[] = await writers[0]!.query('SELECT name FROM schema_migration');
    for (const writer of writers) await writer.destroy();
    expect(rows.map(({ name }) => name).sort()).toEqual(MIGRATIONS.map(({ name }) => name).sort());
  } finally {
    await drop();
    await rm(folder, { recursive: true });
  }
});
