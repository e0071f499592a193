import { copyFile, mkdir, rename } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { MIGRATIONS } from '../../migrations/index.js';
import { ENTITIES } from '../../src/entities.js';
import { sqliteWriter } from '../../src/store/index.js';

/**
 * Puts a migrated, empty database at `file`: migrations cost more than most tests, so they run once a test run and
 * each store starts from a copy. The run's folder is made and removed by `.config/test-run.mjs`.
 */
export async function placeDatabase(file: string): Promise<void> {
  await mkdir(dirname(file), { recursive: true });
  const model = join(process.env['HALFINCH_TEST_RUN'] ?? '', 'migrated.sqlite');
  try {
    await copyFile(model, file);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    const own = `${model}.${process.pid}`;
    const source = await sqliteWriter(own, ENTITIES, MIGRATIONS).initialize();
    await source.runMigrations();
    await source.destroy();
    // Several workers may be first at once: each puts a whole file in place.
    await rename(own, model);
    await copyFile(model, file);
  }
}
