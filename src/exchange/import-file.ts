import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { basename } from 'node:path';
import { DomainError } from '../base/index.js';
import type { Actor } from '../identity/index.js';
import type { ImportRun, Pass } from './entities.js';
import type { Progress } from './import-runner.js';
import type { Imports } from './imports.js';

export type FileImport = {
  readonly salonId: string;
  readonly kind: string;
  readonly path: string;
  /** What an ImportSettingsInput takes; what is left out is guessed from the file. */
  readonly settings: Readonly<Record<string, unknown>>;
  /** `check` only says what would happen. */
  readonly pass: Pass;
};

/**
 * Takes over a file from the disk, for a command: hands it in, sets it up and works it through. `told` hears how far it
 * is. The import that is returned is done, checked, stopped or failed, and says why. Throws IMPORT.* and INPUT.INVALID for
 * what is wrong with the file or the settings; IMPORT.NO_FILE where it cannot be read.
 */
export async function importFile(
  imports: Imports,
  { salonId, kind, path, settings, pass }: FileImport,
  actor: Actor,
  told?: (progress: Progress) => void,
): Promise<ImportRun> {
  const isFile = await stat(path).then(
    (found) => found.isFile(),
    () => false,
  );
  if (!isFile) throw DomainError.invalid('IMPORT.NO_FILE', 'file', `There is no file at ${path}.`);
  const bytes: AsyncIterable<Uint8Array> = createReadStream(path);
  const { id } = await imports.upload(salonId, { kind }, { name: basename(path), bytes }, actor);
  if (Object.keys(settings).length > 0) await imports.setUp(id, settings, actor);
  return await imports.runThrough(id, pass, actor, told);
}
