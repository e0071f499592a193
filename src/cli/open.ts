import { MIGRATIONS } from '../../migrations/index.js';
import { ENTITIES } from '../entities.js';
import { openSources, readSettings, type Settings, type Sources } from '../store/index.js';

/** Opens the database of this installation for a command, runs it and closes; errors are told and make it fail. */
export async function runCommand(
  work: (sources: Sources, settings: Settings) => Promise<number>,
): Promise<void> {
  try {
    const settings = readSettings(process.env);
    const sources = await openSources(
      settings.database,
      ENTITIES,
      MIGRATIONS,
      { key: settings.healthKey, keyFile: settings.keyFile },
      settings.pool,
    );
    try {
      process.exitCode = await work(sources, settings);
    } finally {
      await sources.reader.destroy();
      await sources.writer.destroy();
    }
  } catch (error) {
    console.error(error instanceof Error ? error.message : error);
    process.exitCode = 1;
  }
}
