import { existsSync } from 'node:fs';
import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { DomainError } from '../base/index.js';
import { verifyAudit } from '../identity/index.js';
import { faultsOf, photoNamesOf, sqliteFileOf } from '../keep/index.js';
import type { Settings } from '../store/index.js';
import { withSources } from './open.js';
import type { Told } from './told.js';

/** Looks at everything an installation keeps. Throws KeyError where a key is missing, KEEP.NO_DATABASE. */
export async function inspect(settings: Settings): Promise<Told> {
  const { dataDir } = settings;
  const file = sqliteFileOf(settings);
  if (!existsSync(file)) {
    throw new DomainError('not-found', 'KEEP.NO_DATABASE', `There is no database at ${file}.`);
  }
  const faults = await faultsOf(file);
  const { entries, broken } = await withSources(settings, ({ reader }) => verifyAudit(reader.manager));
  if (broken) faults.push(`Audit entry ${broken.number}: ${broken.what}`);
  const there = new Set(await readdir(join(dataDir, 'photos')).catch(() => []));
  const names = await photoNamesOf(file);
  const missing = names.filter((name) => !there.has(name));
  if (missing.length > 0) faults.push(`${missing.length} photographs are missing, ${missing[0]} first.`);
  const data = { faults, auditEntries: entries, photographs: names.length };
  if (faults.length > 0) return { lines: faults, data, exitCode: 1 };
  const line = `All is well: database sound, ${entries} audit entries as written, ${names.length} photographs there.`;
  return { lines: [line], data };
}
