import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from '@jest/globals';
import { MIGRATIONS } from '../../migrations/index.js';
import { ENTITIES } from '../../src/entities.js';
import { sqliteWriter } from '../../src/store/index.js';

describe('migrations on SQLite', () => {
  let folder: string;
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), 'halfinch-schema-'));
  });
  afterEach(() => rm(folder, { recursive: true }));

  it('leave the schema that the entities describe, and can be taken back', async () => {
    const source = await sqliteWriter(join(folder, 'a.sqlite'), ENTITIES, MIGRATIONS).initialize();
    try {
      await source.runMigrations();
      const drift = await source.driver.createSchemaBuilder().log();
      expect(drift.upQueries.map((query) => query.query)).toEqual([]);

      for (const _ of MIGRATIONS) await source.undoLastMigration();
      const left: { name: string }[] = await source.query(
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite_%'",
      );
      expect(left.map((table) => table.name)).toEqual(['schema_migration']);
    } finally {
      await source.destroy();
    }
  });
});
